"""The site over HTTP on loopback, against bare views of the same server in the same run."""

from __future__ import annotations

from itertools import count

from bench import asks, place
from bench.client import CLIENTS, rates, rates_after
from bench.report import Report

MEMBERS = 500
BOARD_AIM = 1 / 3
SUBMIT_AIM = 1 / 4
BARE = "the bare view"


def measure(report: Report) -> None:
    with place.database() as environment:
        from bench.scene import make

        scene = make(MEMBERS)
        with place.server(environment) as port:
            report.head(
                f"Over HTTP: {CLIENTS} clients at once, a board of {MEMBERS}, 50 rows a page. The "
                "bare view runs behind the same middleware, signed in, and answers a constant "
                "of a board's size."
            )
            _reading(report, port, scene)
            report.head(
                f"Logging: first results of {MEMBERS} members. The bare insert runs behind the "
                "same middleware, signed in, and adds one row in a transaction."
            )
            _logging(report, port, scene)


def _address(name: str, pk: object) -> str:
    """The path of a named address; empty if this site has none of that name."""
    from django.urls import NoReverseMatch, reverse

    try:
        return reverse(name, args=[pk])
    except NoReverseMatch:
        return ""


def _tell(
    report: Report, rated: dict[str, float], against: str, aim: float, *, aimless: str = ""
) -> None:
    """Each rate, and for all but the bare one what it is of that."""
    for name, rate in rated.items():
        report.add(name, rate, "answers/s")
        if name != against:
            report.add(
                f"  … to {against}",
                rate / rated[against],
                "",
                aim=None if name == aimless else aim,
                at_least=True,
            )


def _reading(report: Report, port: int, scene: dict[str, object]) -> None:
    cookies: list[str] = scene["cookies"]  # type: ignore[assignment]
    viewer, full = cookies[0], scene["full"]
    rows = _address("board-rows", full)
    tag = asks.tag_of(port, rows, viewer)
    bare = asks.get("/bare/page/", viewer)
    jobs = {
        BARE: bare,
        "the rows": asks.get(rows, viewer),
        "the whole page": asks.get(_address("class-board", full), viewer),
        "the board by the API": asks.get(path, viewer)
        if (path := _address("api-board", full))
        else None,
        "an unchanged board (304)": asks.get(rows, viewer, tag=tag),
    }
    rated = rates(port, {name: (ask, count()) for name, ask in jobs.items() if ask})
    _tell(report, rated, BARE, BOARD_AIM, aimless="an unchanged board (304)")

    # A page is kept for each version of its board; this is what it costs when there is none.
    change = asks.form(_address("class-log", full), cookies)
    fresh = {
        "the bare view, one by one": bare,
        "the rows of a board just changed": asks.get(rows, viewer),
    }
    rated = rates_after(port, change, fresh, numbers=count(10_000), times=60)
    _tell(report, rated, "the bare view, one by one", BOARD_AIM)


def _logging(report: Report, port: int, scene: dict[str, object]) -> None:
    cookies: list[str] = scene["cookies"]  # type: ignore[assignment]
    by_page, by_program, alone = scene["empty"]  # type: ignore[misc]
    insert = asks.form("/bare/insert/", cookies)
    jobs = {
        "the bare insert": (insert, count()),
        "a result by the page": (
            asks.form(_address("class-log", by_page), cookies), iter(range(MEMBERS)),
        ),
    }  # fmt: skip
    if path := _address("api-results", by_program):
        jobs["a result by the API"] = (asks.program(path, cookies), iter(range(MEMBERS)))
    _tell(report, rates(port, jobs), "the bare insert", SUBMIT_AIM)
    page = asks.form(_address("class-log", alone), cookies)
    jobs = {
        "the bare insert, one by one": (insert, count()),
        "a result by the page, one by one": (page, iter(range(MEMBERS))),
    }
    _tell(report, rates(port, jobs, clients=1), "the bare insert, one by one", SUBMIT_AIM)
