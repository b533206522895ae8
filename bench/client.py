"""Clients over loopback that keep their connections, and the rates they see."""

from __future__ import annotations

import http.client
from collections.abc import Callable, Iterator, Mapping
from itertools import count
from statistics import median
from threading import Thread
from time import perf_counter

Ask = Callable[[http.client.HTTPConnection, int], None]
"""Sends the request of this number and raises unless it is answered as it should be."""

Job = tuple[Ask, Iterator[int]]
"""What is asked, and the numbers it may still be asked with."""

CLIENTS = 2
ROUNDS = 16
SECONDS = 0.25
WARM_UP = 0.5


def rates(
    port: int, jobs: Mapping[str, Job], *, clients: int = CLIENTS, rounds: int = ROUNDS
) -> dict[str, float]:
    """Answers a second of each job, by its name: the median of the rounds.

    Each is warmed up; then they take turns for some rounds, so that whatever else the
    machine does in between slows all of them alike and their ratios hold.
    """
    for ask, numbers in jobs.values():
        _turn(port, ask, numbers, clients=clients, seconds=WARM_UP)
    told: dict[str, list[float]] = {name: [] for name in jobs}
    for _ in range(rounds):
        for name, (ask, numbers) in jobs.items():
            done, seconds = _turn(port, ask, numbers, clients=clients, seconds=SECONDS)
            if done:  # a job may run out of numbers
                told[name].append(done / seconds)
    return {name: median(rates) for name, rates in told.items()}


def times_at_once(
    port: int, asked: Mapping[str, Ask], *, clients: int, rounds: int = 2
) -> dict[str, list[float]]:
    """Seconds that each answer took while so many connections ask without a pause; the jobs
    take turns for some rounds."""
    taken: dict[str, list[float]] = {name: [] for name in asked}
    for _ in range(rounds):
        for name, ask in asked.items():

            def timed(
                connection: http.client.HTTPConnection,
                number: int,
                ask: Ask = ask,
                kept: list[float] = taken[name],
            ) -> None:
                start = perf_counter()
                ask(connection, number)
                kept.append(perf_counter() - start)

            _turn(port, timed, count(), clients=clients, seconds=2.5)
    return taken


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
    """Answers a second of each job asked one by one, by their median, each after ``before``,
    which is not timed."""
    taken: dict[str, list[float]] = {name: [] for name in jobs}
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    try:
        for _ in range(times):
            for name, ask in jobs.items():
                before(connection, number := next(numbers))
                start = perf_counter()
                ask(connection, number)
                taken[name].append(perf_counter() - start)
    finally:
        connection.close()
    return {name: 1 / median(seconds) for name, seconds in taken.items()}
