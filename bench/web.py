"""The site over HTTP on loopback, against bare views of the same server in the same run."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count
from typing import TYPE_CHECKING

from django.urls import reverse

from bench import asks, place
from bench.client import CLIENTS, Ask, Job, rates, rates_after, times_at_once
from bench.report import Report
from bench.workload import HISTORIES, SIZES

if TYPE_CHECKING:
    from bench.scene import Scene

MEMBERS = 500
VIEWERS = 20
"""Who look at an unchanged board in turn, so that each has looked before."""

BOARD_AIM = 0.8
CHANGED_AIM = 0.4
SUBMIT_AIM = 0.5
TAIL_AIM = 5.0
AT_ONCE = 64
BARE = "the bare view"
RANKED = "a view with rank() over in SQL"


def measure(report: Report) -> None:
    with place.database() as environment:
        from bench.scene import make

        scene = make()
        with place.server(environment) as port:
            _unchanged(report, port, scene)
            _changed(report, port, scene)
            _logging(report, port, scene)
            _many(report, port, scene)
            _growth(report, port, scene)
            _histories(report, port, scene)


def _tell(
    report: Report,
    rated: dict[str, float],
    against: str,
    aim: float | None,
    *,
    aimless: tuple[str, ...] = (),
) -> None:
    """Each rate, and for all but the bare one what it is of that."""
    for name, rate in rated.items():
        report.add(name, rate, "answers/s")
        if name != against:
            report.add(
                f"  … to {against}",
                rate / rated[against],
                "",
                aim=None if name in aimless else aim,
                at_least=True,
            )


def _jobs(asked: dict[str, Ask]) -> dict[str, Job]:
    return {name: (ask, count()) for name, ask in asked.items()}


def _unchanged(report: Report, port: int, scene: Scene) -> None:
    report.head(
        f"A board that has not changed: {CLIENTS} clients at once, each as many members in turn, "
        f"a class of {MEMBERS}, 50 rows a page. The bare view runs behind the same middleware, "
        "signed in, and answers a constant of a board's size."
    )
    full, viewers = scene.full[MEMBERS], scene.cookies[:VIEWERS]
    rows = reverse("board-rows", args=[full])
    api = reverse("api-board", args=[full])
    asked = {
        BARE: asks.get("/bare/page/", viewers),
        RANKED: asks.get(f"/bare/ranked/{full}/", viewers),
        "the rows": asks.get(rows, viewers),
        "the rows, unchanged (304)": asks.get(rows, viewers, tags=asks.tags(port, rows, viewers)),
        "the whole page": asks.get(reverse("class-board", args=[full]), viewers),
        "by the API": asks.get(api, viewers),
        "by the API, unchanged (304)": asks.get(api, viewers, tags=asks.tags(port, api, viewers)),
    }
    _tell(report, rates(port, _jobs(asked)), BARE, BOARD_AIM, aimless=(RANKED,))


def _changed(report: Report, port: int, scene: Scene) -> None:
    report.head(
        "A board just changed by its viewer, who may not be shown the one from before: each "
        "is asked once after a result, one by one. The bare view is asked after one as well."
    )
    full, viewers = scene.full[MEMBERS], scene.cookies
    change = asks.form(reverse("class-log", args=[full]), viewers)
    bare = "the bare view, one by one"
    asked = {
        bare: asks.get("/bare/page/", viewers),
        RANKED: asks.get(f"/bare/ranked/{full}/", viewers),
        "the rows of a board just changed": asks.get(reverse("board-rows", args=[full]), viewers),
        "the same by the API": asks.get(reverse("api-board", args=[full]), viewers),
    }
    rated = rates_after(port, change, asked, numbers=count(10_000), times=60)
    _tell(report, rated, bare, CHANGED_AIM, aimless=(RANKED,))


def _logging(report: Report, port: int, scene: Scene) -> None:
    report.head(
        f"Logging: first results of {MEMBERS} members. The bare insert runs behind the "
        "same middleware, signed in, and adds one row in a transaction."
    )
    by_page, by_program, alone = scene.empty
    bare, cookies = asks.form("/bare/insert/", scene.cookies), scene.cookies
    page, program = reverse("class-log", args=[by_page]), reverse("api-results", args=[by_program])
    jobs: dict[str, Job] = {
        "the bare insert": (bare, count()),
        "a result by the page": (asks.form(page, cookies), _firsts()),
        "a result by the API": (asks.program(program, cookies), _firsts()),
    }
    rated = rates(port, jobs)
    _tell(report, rated, "the bare insert", SUBMIT_AIM)
    jobs = {
        "the bare insert, one by one": (bare, count()),
        "a result by the page, one by one": (
            asks.form(reverse("class-log", args=[alone]), cookies), _firsts(),
        ),
    }  # fmt: skip
    rated = rates(port, jobs, clients=1)
    _tell(report, rated, "the bare insert, one by one", SUBMIT_AIM)


def _firsts() -> Iterator[int]:
    return iter(range(MEMBERS))


def _many(report: Report, port: int, scene: Scene) -> None:
    report.head(
        f"{AT_ONCE} connections at once, all reading, on one server process with eight threads: "
        "what an answer takes from being asked for, waiting in line included."
    )
    full = scene.full[MEMBERS]
    asked = {
        BARE: asks.get("/bare/page/", scene.cookies),
        "the rows": asks.get(reverse("board-rows", args=[full]), scene.cookies),
    }
    for name, taken in times_at_once(port, asked, clients=AT_ONCE).items():
        taken.sort()
        middle, tail = taken[len(taken) // 2], taken[len(taken) * 99 // 100]
        report.add(f"{name}, median", middle * 1e3, "ms")
        report.add(f"{name}, 99 of 100 within", tail * 1e3, "ms")
        aim = None if name == BARE else TAIL_AIM
        report.add("  … to the median", tail / middle, "", aim=aim)


def _growth(report: Report, port: int, scene: Scene) -> None:
    report.head(
        "As a class grows: its rows unchanged, its rows just changed by their viewer, and a "
        f"first result, in classes of {', '.join(f'{size:,}' for size in SIZES)}."
    )
    viewers = scene.cookies[: SIZES[0]]
    kept = {
        f"the rows of {size:,}": asks.get(reverse("board-rows", args=[pk]), viewers)
        for size, pk in scene.full.items()
    }
    _grown(report, rates(port, _jobs(kept), rounds=8))
    fresh: dict[str, float] = {}
    for size, pk in scene.full.items():
        change = asks.form(reverse("class-log", args=[pk]), viewers)
        name = f"the rows of {size:,}, just changed"
        again = {name: asks.get(reverse("board-rows", args=[pk]), viewers)}
        fresh |= rates_after(port, change, again, numbers=count(20_000), times=30)
    _grown(report, fresh)
    firsts: dict[str, Job] = {
        f"a first result among {size:,}": (
            asks.form(reverse("class-log", args=[pk]), scene.cookies), _firsts(),
        )
        for size, pk in scene.grown.items()
    }  # fmt: skip
    _grown(report, rates(port, firsts, rounds=8))


def _grown(report: Report, rated: dict[str, float]) -> None:
    """Rates, and what each is of the first, the smallest."""
    first = next(iter(rated.values()))
    for name, rate in rated.items():
        report.add(name, rate, "answers/s")
        if rate is not first:
            report.add("  … to the smallest", rate / first, "")


def _histories(report: Report, port: int, scene: Scene) -> None:
    report.head(
        "A member's history, the newest 40 results a page: of members with "
        f"{', '.join(f'{results:,}' for results in HISTORIES)} results."
    )
    asked = {BARE: asks.get("/bare/page/", [scene.histories[HISTORIES[0]]])}
    for results, cookie in scene.histories.items():
        asked[f"a history of {results:,}"] = asks.get(reverse("history"), [cookie])
    _tell(report, rates(port, _jobs(asked), rounds=8), BARE, None)
