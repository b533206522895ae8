"""Boards of a thousand results to a million: ranks, pages, a recompute, a file.

Everything is held against the least that the same store does in the same run, in turns, so that
whatever else the machine does slows both alike. ``BENCH_SIZE`` asks for a smaller largest class.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable, Mapping
from fractions import Fraction
from http.client import HTTPConnection
from itertools import count, islice
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING, Any

from bench import place
from bench.report import Report, facts
from bench.workload import ROOT

if TYPE_CHECKING:
    from scoring.models import StreamedClass

SIZES = (1_000, 10_000, 100_000, 1_000_000)
DOWN = 0.9
"""Where the member stands whose rank is asked: nine tenths down the board."""
RECOMPUTE_SECONDS = 60
SAMPLE = 20_000
"""Rows of the bulk loads that a recompute is compared with, row by row."""


def measure(report: Report) -> None:
    largest = int(os.environ.get("BENCH_SIZE", SIZES[-1]))
    sizes = [size for size in SIZES if size < largest] + [largest]
    with place.database() as environment:
        from bench import crowd

        classes = []
        report.head(
            "Large classes. A third are as prescribed, some hundred to some thousand stand level "
            "with each other, three tenths have splits. Loaded with their members, results and "
            f"facts by COPY or one statement many times. Load now {os.getloadavg()[0]:.1f}."
        )
        for size in sizes:
            gym, coach = crowd.gym_of(f"b{size}")
            made = crowd.class_of(gym, coach)
            start = perf_counter()
            crowd.fill(made, size, seed=size)
            report.add(f"loading {size:,} results", perf_counter() - start, "s")
            classes.append(made)
        _ranks(report, classes)
        _pages(report, classes)
        _over_http(report, classes[-1], environment)
        _recomputes(report, classes)
        _alone(report, classes, environment)


def in_turns(jobs: Mapping[str, Callable[[], object]], *, rounds: int = 25) -> dict[str, float]:
    """Median milliseconds of each job; they take turns."""
    taken: dict[str, list[float]] = {name: [] for name in jobs}
    for number in range(rounds + 1):
        for name, job in jobs.items():
            start = perf_counter()
            job()
            if number:  # the first is to warm up
                taken[name].append(perf_counter() - start)
    return {name: 1e3 * median(values) for name, values in taken.items()}


def _pair(streamed: StreamedClass) -> tuple[int, int]:
    from scoring.boards import DatabaseBoards

    spot = DatabaseBoards().spot(streamed, int(streamed.board_entries * DOWN), "all")
    assert spot is not None
    return spot.pair


def _ranks(report: Report, classes: list[StreamedClass]) -> None:
    from scoring import boards

    report.head(
        "The rank of a member nine tenths down the board, in milliseconds. Beside it the least the "
        "same store does: Redis a bare ZCOUNT and the bare ZLEXCOUNT by the same client and "
        "connection, a database one count of those above. "
        f"Load now {os.getloadavg()[0]:.1f}."
    )
    stores: dict[str, Any] = {"database": boards.DatabaseBoards()}
    if isinstance(boards.store(), boards.RedisBoards):
        stores["Redis"] = boards.store()
    for name, store in stores.items():
        first = 0.0
        for streamed in classes:
            size, pair = f"{streamed.board_entries:,}", _pair(streamed)
            if name == "Redis":
                _derive(report, store, streamed)
            jobs: dict[str, Callable[[], object]] = {
                "rank": lambda s=streamed, p=pair, b=store: b.standings(s, [p], "all"),  # type: ignore[misc]
                **(_bare_redis if name == "Redis" else _bare_count)(store, streamed, pair),
            }
            told = in_turns(jobs, rounds=200 if name == "Redis" else 25)
            own = told.pop("rank")
            report.add(f"own rank of {size}, {name}", own, "ms")
            for bare, value in told.items():
                report.add(f"  {bare}", value, "ms")
                aim = 2 if bare == "bare ZLEXCOUNT" else None
                report.add("  … rank to that", own / value, "×", aim=aim)
            first = first or own
        report.add(f"own rank, largest class to smallest, {name}", own / first, "×")


def _derive(report: Report, store: Any, streamed: StreamedClass) -> None:
    """Have the sets built and wait for it."""
    start = perf_counter()
    store.standings(streamed, [], "all")
    for thread in list(store._deriver.threads):
        thread.join()
    size = f"{streamed.board_entries:,}"
    report.add(f"deriving {size} into Redis", perf_counter() - start, "s")
    used = sum(
        store._client.memory_usage(key, samples=1000) or 0 for key in store._names(streamed.pk).sets
    )
    report.add(f"  memory of {size} in Redis", used / 2**20, "MB")


def _bare_redis(
    store: Any, streamed: StreamedClass, pair: tuple[int, int]
) -> dict[str, Callable[[], object]]:
    from scoring.boards.members import prefix_of

    name, text = store._names(streamed.pk).sets[2], prefix_of(*pair)
    client = store._client
    return {
        "bare ZCOUNT": lambda: client.zcount(name, "-inf", 0),
        "bare ZLEXCOUNT": lambda: client.zlexcount(name, "-", f"({text}"),
    }


def _bare_count(
    store: Any, streamed: StreamedClass, pair: tuple[int, int]
) -> dict[str, Callable[[], object]]:
    above = (
        "SELECT COUNT(*) FROM scoring_score WHERE streamed_class_id = %s AND key > %s",
        [streamed.pk, pair[0]],
    )
    return {"COUNT(*) of those above": lambda: _sql(*above), "SELECT 1": lambda: _sql("SELECT 1")}


def _sql_do(sql: str, params: list[Any]) -> None:
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(sql, params)


def _sql(sql: str, params: list[Any] | None = None) -> list[Any]:
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(sql, params)
        return list(cursor.fetchall())


def _pages(report: Report, classes: list[StreamedClass]) -> None:
    from scoring import boards
    from scoring.selectors.board_rows import own_row, page_of, position

    report.head(
        "Fifty rows of a board just changed, from the database: from the top, the middle and nine "
        "tenths down; the own row and its place. Beside them the same rows by OFFSET, and rank() "
        f"over all, in plain SQL. Load now {os.getloadavg()[0]:.1f}."
    )
    store = boards.store()
    first: dict[str, float] = {}
    for streamed in classes:
        size, pair = streamed.board_entries, _pair(streamed)
        deep, middle = int(size * DOWN), size // 2
        listed = page_of(streamed, "all", deep, 1)[0]
        member = listed.result.member_id
        rank = store.standings(streamed, [pair], "all").places[pair].rank
        ours = in_turns(
            {
                "from the top": lambda s=streamed: page_of(s, "all", 0, 50),  # type: ignore[misc]
                "from the middle": lambda s=streamed, n=middle: page_of(s, "all", n, 50),  # type: ignore[misc]
                "nine tenths down": lambda s=streamed, n=deep: page_of(s, "all", n, 50),  # type: ignore[misc]
                "own row": lambda s=streamed, m=member: own_row(s, "all", m),  # type: ignore[misc]
                "own place in its tie": lambda s=streamed, o=listed, r=rank: position(
                    s, "all", o, r
                ),  # type: ignore[misc]
            },
            rounds=9,
        )
        plain = in_turns(
            {
                "the same by OFFSET": lambda s=streamed, n=deep: _by_offset(s, n),  # type: ignore[misc]
                "rank() over all": lambda s=streamed: _ranked(s),  # type: ignore[misc]
            },
            rounds=1,
        )
        for name, value in ours.items():
            report.add(f"{size:,}: {name}", value, "ms")
            if streamed is classes[-1] and name in first:
                report.add("  … to that of the smallest class", value / first[name], "×")
            first.setdefault(name, value)
        for name, value in plain.items():
            report.add(f"{size:,}: {name}", value, "ms")
            report.add("  … to ours", value / ours["nine tenths down"], "×")


def _by_offset(streamed: StreamedClass, offset: int) -> None:
    from scoring.selectors.board_rows import ordered

    list(ordered(streamed, "all")[offset : offset + 50])


def _ranked(streamed: StreamedClass) -> None:
    _sql(
        "SELECT COUNT(*), MAX(place) FROM "
        "(SELECT RANK() OVER (ORDER BY key DESC, tie_key) AS place "
        "FROM scoring_score WHERE streamed_class_id = %s) ranked",
        [streamed.pk],
    )


def _over_http(report: Report, streamed: StreamedClass, environment: dict[str, str]) -> None:
    from django.urls import reverse

    from bench import asks
    from bench.client import rates
    from bench.scene import cookie
    from members.models import Membership, User
    from scoring.selectors.board_rows import page_of

    deep = int(streamed.board_entries * DOWN)
    member = page_of(streamed, "all", deep, 1)[0].result.member
    user = User.objects.create_user("viewer@example.org")
    Membership.objects.filter(pk=member.pk).update(user=user)
    of_viewer = cookie(user)
    size = f"{streamed.board_entries:,}"
    report.head(
        f"Over HTTP, signed in, a board of {size}: two clients at once, a page built once. "
        f"Load now {os.getloadavg()[0]:.1f}."
    )
    rows = reverse("board-rows", args=[streamed.pk])
    # An estimate of a million results, begun by the server itself, would be measured too.
    with place.server({**environment, "OWN_CLOCK": "false"}) as port:
        jobs = {
            "the bare view": asks.get("/bare/page/", [of_viewer]),
            "its first rows": asks.get(rows, [of_viewer]),
            f"its rows from {deep:,}": asks.get(f"{rows}?start={deep}", [of_viewer]),
        }
        # A busy machine takes its time to start a server.
        asks.get("/bare/page/", [of_viewer])(HTTPConnection("127.0.0.1", port, timeout=300), 0)
        rated = rates(port, {name: (ask, count()) for name, ask in jobs.items()}, rounds=8)
    for name, rate in rated.items():
        report.add(name, rate, "answers/s")
        if name != "the bare view":
            report.add(
                "  … to the bare view", rate / rated["the bare view"], "", aim=1 / 3, at_least=True
            )


def _recomputes(report: Report, classes: list[StreamedClass]) -> None:
    from django.utils import timezone

    from members.models import Membership, Role
    from scoring.core.credits import CreditTable
    from scoring.services import recompute
    from scoring.services.credits import new_table

    report.head(
        "Recomputing a class by other credits, a third of its scores changed, against loading as "
        f"many rows of scores. Load now {os.getloadavg()[0]:.1f}."
    )
    each = 0.0
    for streamed in classes:
        size = streamed.board_entries
        coach = Membership.objects.filter(gym=streamed.gym, role=Role.COACH)[0]
        table = new_table(
            gym=streamed.gym,
            table=CreditTable(load_slope=Fraction(7, 10), load_floor=Fraction(1, 10)),
            by=coach,
            reason="bench",
        )
        chunks: list[float] = []
        loads: dict[str, list[float]] = {"bulk_create": [], "raw load": []}
        start = perf_counter()
        run = recompute.recompute_class(
            streamed_class=streamed, table=table, now=timezone.now(), chunks=1
        )
        chunks.append(perf_counter() - start)
        while run.finished_at is None:
            start = perf_counter()
            run = recompute.recompute_class(
                streamed_class=streamed, table=table, now=timezone.now(), chunks=1
            )
            chunks.append(perf_counter() - start)
            if len(chunks) % 50 == 3:  # in turns, all along
                for name, seconds in _bulk(streamed).items():
                    loads[name].append(seconds)
        if not loads["raw load"]:
            loads = {name: [seconds] for name, seconds in _bulk(streamed).items()}
        total = sum(chunks)
        aim = RECOMPUTE_SECONDS if size == SIZES[-1] else None
        report.add(f"recomputing {size:,}", total, "s", aim=aim)
        report.add("  of these changed", run.moved, "scores")
        report.add("  longest chunk", max(chunks), "s", aim=0.5)
        for name, seconds in loads.items():
            report.add(f"  … to {name}, row by row", total / size / median(seconds), "×")
        if each:
            report.add("  a row, to that of a tenth of it", total / size / each, "×")
        each = total / size
        streamed.refresh_from_db()


def _bulk(streamed: StreamedClass) -> dict[str, float]:
    """Seconds a row of loading scores, undone again."""
    from django.db import transaction

    from bench import crowd
    from scoring.models import Score

    rows = list(Score.objects.filter(streamed_class=streamed).order_by("pk")[:SAMPLE])
    names = [f.attname for f in Score._meta.concrete_fields]
    plain = [tuple(getattr(row, name) for name in names) for row in rows]
    told = {}
    for name in ("bulk_create", "raw load"):
        with transaction.atomic():
            _sql_do(
                "DELETE FROM scoring_score WHERE streamed_class_id = %s AND id <= %s",
                [streamed.pk, rows[-1].pk],
            )
            for row in rows:
                row._state.adding = True
            start = perf_counter()
            if name == "bulk_create":
                Score.objects.bulk_create(rows, batch_size=5_000)
            else:
                crowd.load(Score, iter(plain), names)
            told[name] = (perf_counter() - start) / len(rows)
            transaction.set_rollback(True)
    return told


def _alone(report: Report, classes: list[StreamedClass], environment: dict[str, str]) -> None:
    report.head(
        "In a process of its own, for its memory: what rescore --dry-run reads, and the board as "
        f"a file. Load now {os.getloadavg()[0]:.1f}."
    )
    own = {"DJANGO_SETTINGS_MODULE": "bench.settings", "LOG_LEVEL": "ERROR"}
    for what, name in (("dry", "rescore --dry-run"), ("file", "board.csv")):
        before: dict[str, float] = {}
        for streamed in classes[-2:]:
            told = subprocess.run(
                [sys.executable, "-m", "bench.million", what, str(streamed.pk)],
                check=True,
                capture_output=True,
                text=True,
                cwd=ROOT,
                env={**environment, **own},
            )
            got = json.loads(told.stdout)
            report.add(f"{name} of {streamed.board_entries:,}", got["seconds"], "s")
            report.add("  first bytes" if what == "file" else "  who would move", got["first"],
                       "s" if what == "file" else "")  # fmt: skip
            report.add("  memory", got["megabytes"], "MB")
            if before:
                report.add(
                    "  … memory, to a tenth of it", got["megabytes"] / before["megabytes"], "×"
                )
            before = got


def alone(what: str, pk: int) -> dict[str, float]:
    """One of the two in this process: seconds, and the greatest memory."""
    import django

    django.setup()
    from members.models import Membership, Role
    from scoring.api.boards import csv_answer
    from scoring.models import StreamedClass
    from scoring.selectors.board_file import export_rows
    from scoring.services.recompute import moving

    streamed = StreamedClass.objects.select_related("workout", "gym").get(pk=pk)
    start = perf_counter()
    first = 0.0
    if what == "dry":
        first = moving(streamed_class=streamed, most=1_000).moved
    else:
        coach = Membership.objects.filter(gym=streamed.gym, role=Role.COACH)[0]
        sent = iter(csv_answer(export_rows(streamed_class=streamed, viewer=coach), "b.csv"))
        list(islice(sent, 1))
        first = perf_counter() - start
        for _ in sent:
            pass
    return {
        "seconds": perf_counter() - start,
        "first": first,
        "megabytes": _peak(),
    }


def _peak() -> float:
    """This program's greatest memory in MB. ``getrusage`` would tell its parent's, if greater."""
    for line in Path("/proc/self/status").read_text(encoding="ascii").splitlines():
        if line.startswith("VmHWM:"):
            return int(line.split()[1]) / 2**10
    return float("nan")


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "bench.settings")
    if len(sys.argv) > 1:
        print(json.dumps(alone(sys.argv[1], int(sys.argv[2]))))
    else:
        table = Report()
        print(facts(), flush=True)
        measure(table)
        print(table.text())
