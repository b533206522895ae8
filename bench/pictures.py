"""Draws the pictures of ``scoring/ESTIMATES.md`` into ``docs/estimates``: ``make pictures``.

The same code always draws the same bytes. With ``--gyms`` the forty gyms that two of them show
are drawn and fitted anew as well.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

from scoring.core.estimation.assumptions import TIE_SPREAD
from scoring.core.estimation.level_reading import TYPICAL, MemberLevels, levels_of

from . import picture_facts, picture_gyms
from .drawn_svg import Chart

FOLDER = Path(__file__).parent.parent / "docs" / "estimates"
EIGHTY = "where it lies in four of five cases"


def level() -> str:
    """A member's level over time."""
    path = picture_facts.path()
    own = levels_of(path.found.levels, path.found.spreads, path.member)
    days = own.path(picture_facts.TODAY, step=2)
    start = days[0][0]
    (first, last), left = picture_facts.AWAY, picture_facts.LAST
    chart = Chart(
        "A member's level over time",
        f"The estimated level of a member with {own.results} results, with its band. Between "
        f"day {first:.0f} and day {last:.0f} there is no result, and none after day {left:.0f}: "
        "the band swells a little in the gap, where results on both sides hold it, and opens to "
        "the end. Single results scatter on both sides of the line, many outside the band. The "
        f"band is {_width(own, 35)} wide on day 35, {_width(own, (first + last) / 2)} in the "
        f"middle of the gap, {_width(own, 160)} on day 160 and "
        f"{_width(own, picture_facts.TODAY)} at the end.",
        x=(0, picture_facts.TODAY),
        y=(75, 120),
    )
    chart.axes(
        "days",
        "level (100 is typical)",
        [(day, str(day)) for day in range(0, 251, 50)],
        [(at, str(at)) for at in range(80, 121, 10)],
    )
    chart.band(
        [(day, reading.low) for day, reading in days],
        [(day, reading.high) for day, reading in days],
        f"the band: {EIGHTY}",
    )
    chart.line([(day, reading.level) for day, reading in days], key="the estimate")
    truth = [(day, TYPICAL * np.exp(-u)) for day, u in path.truth if start <= day]
    chart.line(truth, "dashed", "the truth that these results were drawn from", colour="#777777")
    single = [(day, TYPICAL * float(np.exp(-u))) for day, u in path.single]
    chart.marks(single, "ring", "what each result alone would say")
    chart.note((first + last) / 2, 77, "no results", "middle")
    chart.note((left + picture_facts.TODAY) / 2, 77, "no results", "middle")
    return chart.svg()


def _width(own: MemberLevels, day: float) -> str:
    there = own.now(day)
    return f"{there.high - there.low:.1f}"


def worth() -> str:
    """What an option has been worth, from more and more results."""
    found, credit, truth = picture_facts.worths()
    told = "; ".join(
        f"from {each.results} results {each.median:.2f}, between {each.low:.2f} and {each.high:.2f}"
        for each in found
    )
    left = [f"{100 * (each.spread / TIE_SPREAD) ** 2:.0f}" for each in found]
    chart = Chart(
        "What an option has been worth, from 5, 15, 50 and 150 results",
        f"The coach's credit is {credit:.2f}, the truth {truth:.2f}. The estimate is {told}. Of "
        f"what the credit leaves open, {', '.join(left[:-1])} and {left[-1]} percent stays open.",
        x=(-0.5, len(found) - 0.5),
        y=(0.4, 1.0),
    )
    chart.axes(
        "results with the option",
        "worth of a rep",
        [(number, str(each.results)) for number, each in enumerate(found)],
        [(at / 10, f"{at / 10:.1f}") for at in range(4, 11)],
    )
    ends = chart.x
    chart.line([(x, credit) for x in ends], "dashed", f"the coach's credit, {credit:.2f}")
    truth_key = f"the truth that these results were drawn from, {truth:.2f}"
    chart.line([(x, truth) for x in ends], "dotted", truth_key)
    for number, each in enumerate(found):
        chart.bar(number, each.low, each.high)
    middles = [(number, each.median) for number, each in enumerate(found)]
    chart.marks(middles, "dot", f"the estimate, and {EIGHTY}")
    return chart.svg()


def places() -> str:
    """How far a class was forecast to get, and how far it got."""
    found, group, done = picture_facts.foreseen()
    size = len(done)
    at = np.arange(0, int(found.ensemble.max()) + 2)
    # (places, draws): how many of the class are that far or further.
    past = np.array([(found.ensemble >= place).sum(axis=0) for place in at])
    low, middle, high = np.quantile(past, [0.1, 0.5, 0.9], axis=1, method="nearest")
    seen = [int((done >= place).sum()) for place in at]
    inside = int(np.sum((done >= found.places[:, 0]) & (done <= found.places[:, 2])))
    last = int(group.reps[: group.finite].sum())
    minutes, seconds = divmod(int(group.cap), 60)
    left, right = 150, 450
    shown = (at >= left) & (at <= right)
    chart = Chart(
        "A class forecast, and where it really stopped",
        f"How many of {size} members were to get at least so far by {minutes}:{seconds:02d}, with "
        f"a band for four of five cases, and how many did. The two run together. {inside} of "
        f"{size} members stopped within their own forecast's range for four of five cases.",
        x=(left, right),
        y=(0, size + 1),
    )
    chart.axes(
        "place when the clock stopped, in reps",
        "members who got so far",
        [(place, str(place)) for place in range(left, right + 1, 50)],
        [(number, str(number)) for number in range(0, size + 1, 5)],
    )
    reps = at[shown].tolist()
    chart.band(
        list(zip(reps, low[shown].tolist(), strict=True)),
        list(zip(reps, high[shown].tolist(), strict=True)),
        "four of five cases",
    )
    chart.line(zip(reps, middle[shown].tolist(), strict=True), "dashed", "forecast: the middle")
    steps: list[tuple[float, float]] = []
    for place, members in zip(reps, np.array(seen)[shown].tolist(), strict=True):
        if steps and steps[-1][1] != members:
            steps.append((place, steps[-1][1]))
        steps.append((place, members))
    chart.line(steps, "whole", "what happened", colour="#000000")
    chart.line([(last, 0), (last, size + 1)], "dotted", "the AMRAP begins", colour="#777777")
    return chart.svg()


GROUPS = ("least often", "less often", "as expected", "oftener", "most often")


def jacobian() -> str:
    """What the Jacobian term does to costs."""
    gyms = picture_gyms.kept()
    found = picture_gyms.errors(gyms)
    worst = found[-1]
    chart = Chart(
        "The error of seconds a rep, with the Jacobian term and without it",
        f"Ways of {len(gyms)} invented gyms in five groups, by how often the clock stops them "
        "against their share of the work. With the term the mean error is "
        f"{min(f[0] for f in found):.1f} to {max(f[0] for f in found):.1f} percent in all groups. "
        f"Without it, it falls from {found[0][2]:.1f} to {worst[2]:.1f} percent.",
        x=(-0.5, len(found) - 0.5),
        y=(-3, 3),
    )
    chart.axes(
        "how often the clock stops a movement, against its share of the work",
        "mean error in percent",
        list(enumerate(GROUPS)),
        [(at, f"{at:+d}" if at else "0") for at in range(-3, 4)],
    )
    chart.line([(x, 0) for x in chart.x], colour="#777777")
    with_it = [(number, each[0]) for number, each in enumerate(found)]
    without = [(number, each[2]) for number, each in enumerate(found)]
    chart.line(without, "dashed")
    chart.line(with_it)
    chart.marks(without, "cross", "without the term")
    chart.marks(with_it, "dot", "with the term, as it is fitted")
    return chart.svg()


SHAPES = {
    "costs": ("dot", "seconds a rep"),
    "credits": ("square", "what options are worth"),
    "levels": ("ring", "levels"),
    "class effects": ("triangle", "class effects"),
    "places": ("cross", "places in classes held back"),
}


def coverage() -> str:
    """Whether intervals hold what they promise."""
    gyms = picture_gyms.kept()
    found = picture_gyms.covered(gyms)
    eighty = picture_gyms.NOMINAL.index(80)
    told = ", ".join(f"{found[name][eighty]:.0f} percent of {SHAPES[name][1]}" for name in SHAPES)
    chart = Chart(
        "How often the truth lay inside, against what was promised",
        f"From {len(gyms)} invented gyms. An interval that promises 80 percent held {told}. "
        "All marks lie close to the line on which promise and truth agree.",
        x=(0, 100),
        y=(0, 100),
    )
    ticks = [(at, f"{at} %") for at in range(0, 101, 20)]
    chart.axes("what the interval promises", "what it held", ticks, ticks)
    chart.line([(0, 0), (100, 100)], "whole", "promise and truth agree", colour="#777777")
    for name, (shape, key) in SHAPES.items():
        chart.marks(zip(picture_gyms.NOMINAL, found[name], strict=True), shape, key)
    return chart.svg()


PICTURES: dict[str, Callable[[], str]] = {
    "level.svg": level,
    "worth.svg": worth,
    "places.svg": places,
    "jacobian.svg": jacobian,
    "coverage.svg": coverage,
}


def main() -> int:
    """Write them."""
    asked = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    asked.add_argument("--gyms", action="store_true", help="fit the forty gyms anew, too")
    asked.add_argument("--into", type=Path, default=FOLDER, help="the folder to write to")
    given = asked.parse_args()
    given.into.mkdir(parents=True, exist_ok=True)
    if given.gyms:
        with ProcessPoolExecutor(2) as pool:
            gyms = list(pool.map(picture_gyms.one, range(picture_gyms.GYMS)))
        picture_gyms.KEPT.write_text(picture_gyms.written(gyms), encoding="utf-8")
    for name, picture in PICTURES.items():
        (given.into / name).write_text(picture(), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
