"""Clients over loopback that keep their connections, and the rates they see."""

from __future__ import annotations

import http.client
from collections.abc import Callable, Iterator, Mapping
from threading import Thread
from time import perf_counter

Ask = Callable[[http.client.HTTPConnection, int], None]
"""Sends the request of this number and raises unless it is answered as it should be."""

Job = tuple[Ask, Iterator[int]]
"""What is asked, and the numbers it may still be asked with."""

CLIENTS = 2
ROUNDS = 4
SECONDS = 1.2
WARM_UP = 0.5


def rates(port: int, jobs: Mapping[str, Job], *, clients: int = CLIENTS) -> dict[str, float]:
    """Answers a second of each job, by its name.

    Each is warmed up; then they take turns for some rounds, so that whatever else the
    machine does in between slows all of them alike and their ratios hold.
    """
    for ask, numbers in jobs.values():
        _turn(port, ask, numbers, clients=clients, seconds=WARM_UP)
    sums = {name: (0, 0.0) for name in jobs}
    for _ in range(ROUNDS):
        for name, (ask, numbers) in jobs.items():
            done, seconds = _turn(port, ask, numbers, clients=clients, seconds=SECONDS)
            sums[name] = (sums[name][0] + done, sums[name][1] + seconds)
    return {name: done / seconds for name, (done, seconds) in sums.items()}


def _turn(
    port: int, ask: Ask, numbers: Iterator[int], *, clients: int, seconds: float
) -> tuple[int, float]:
    """How many answers came, and in what time; it ends early when the numbers do."""
    counts = [0] * clients
    faults: list[BaseException] = []

    def client(own: int) -> None:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        try:
            while perf_counter() < start + seconds:
                number = next(numbers, None)
                if number is None:
                    break
                ask(connection, number)
                counts[own] += 1
        except BaseException as fault:
            faults.append(fault)
        finally:
            connection.close()

    threads = [Thread(target=client, args=(own,)) for own in range(clients)]
    start = perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    taken = perf_counter() - start
    if faults:
        raise faults[0]
    return sum(counts), taken


def rates_after(
    port: int, before: Ask, jobs: Mapping[str, Ask], *, numbers: Iterator[int], times: int
) -> dict[str, float]:
    """Answers a second of each job asked one by one, each after ``before``, which is not
    timed."""
    taken = dict.fromkeys(jobs, 0.0)
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    try:
        for _ in range(times):
            for name, ask in jobs.items():
                before(connection, number := next(numbers))
                start = perf_counter()
                ask(connection, number)
                taken[name] += perf_counter() - start
    finally:
        connection.close()
    return {name: times / seconds for name, seconds in taken.items()}
