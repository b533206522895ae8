"""What options and loads have been worth, beside what the coach credits them with.

A way that is tied to another one has been worth ``exp(θ_way - θ_parent)`` of it: how many
of the parent's reps one of its own takes the time of. The difference of two log costs is
normal in the posterior, so the median and the interval are exact within the model.

Members choose their option, and who chooses an easier one may be slow at exactly that
movement: the figure says what an option was worth to those who used it (``SELECTION``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, exp, floor, log, sqrt

from ..prescription import MAX_CREDIT
from .assumptions import LEAST_RESULTS
from .estimate import Estimate
from .ways import Way

SHOWN = 1.2815515655446004
"""Standard deviations on either side that hold 80 % of a normal distribution."""

SURE = 1.6448536269514722
"""The same for 90 %: a change is suggested only where this leaves the credit out. One
credit in five would lie outside 80 % by chance alone, and a table has dozens of them."""

STEP = Fraction(1, 20)
"""Coaches write credits in steps of 0.05 (common practice, no source)."""

FINE_STEP = Fraction(1, 100)
"""Where no step of 0.05 lies in the interval the nearest hundredth is suggested: credits have
at most two decimals where people write them, however exact the results are."""

SELECTION = (
    "Members choose their option. Who chooses an easier one may be slow at exactly that "
    "movement, so a figure says what the option was worth to those who used it, not what it "
    "would be worth to everybody."
)


@dataclass(frozen=True, slots=True)
class Worth:
    """One way against the way it is tied to.

    Attributes
    ----------
    way, against : Way
        What was done, and what one rep of it is measured in reps of.
    credit : float
        What the coach says it counts, more than 0.
    median, low, high : float
        What it has been worth: the middle and the 80 % interval.
    results : int
        Results with the way in them.
    suggestion : Fraction or None
        The credit that the results speak for, where they are clear; else ``None``.
    """

    way: Way
    against: Way
    credit: float
    median: float
    low: float
    high: float
    results: int
    suggestion: Fraction | None

    @property
    def is_clear(self) -> bool:
        """Whether results are many and clear enough to suggest another credit."""
        return self.suggestion is not None

    @property
    def is_early(self) -> bool:
        """Whether there are so few results that the coach's credit speaks louder."""
        return self.results < LEAST_RESULTS

    @property
    def is_beside(self) -> bool:
        """Whether the credit lies outside of the 80 % interval, as it is shown."""
        return not float(two_down(self.low)) <= self.credit <= float(two_up(self.high))

    def credited(self, credit: float) -> Worth:
        """The same figure beside another credit, as one that a workout writes."""
        middle = log(self.median)
        spread = (log(self.high) - middle) / SHOWN
        suggestion = _suggestion(middle, spread, credit, self.results, above_one=False)
        return replace(self, credit=credit, suggestion=suggestion)


def worths(
    estimate: Estimate, credits: Mapping[Way, float] | None = None, *, above_one: bool = False
) -> tuple[Worth, ...]:
    """Every way that is tied to another one, in the order of the estimate's ways.

    Parameters
    ----------
    credits
        What the coach says now, where that is not what the estimate was tied by.
    above_one
        Whether an option may count more than 1. One that does already may in any case.
    """
    ways, given = estimate.ways, credits or {}
    found = []
    for index, way in enumerate(ways.ways):
        parent = int(ways.parent[index])
        if parent < 0:
            continue
        middle = float(estimate.cost[index] - estimate.cost[parent])
        covariance = estimate.covariance
        variance = float(
            covariance[index, index] + covariance[parent, parent] - 2 * covariance[index, parent]
        )
        spread = sqrt(max(0.0, variance))
        credit = given.get(way, exp(float(ways.tie[index])))
        results = int(estimate.used[index])
        found.append(
            Worth(
                way=way,
                against=ways.ways[parent],
                credit=credit,
                median=exp(middle),
                low=exp(middle - SHOWN * spread),
                high=exp(middle + SHOWN * spread),
                results=results,
                suggestion=_suggestion(middle, spread, credit, results, above_one),
            )
        )
    return tuple(found)


def _suggestion(
    middle: float, spread: float, credit: float, results: int, above_one: bool
) -> Fraction | None:
    """A credit to put in the place of the coach's, where the results are clear about it."""
    if results < LEAST_RESULTS or abs(log(credit) - middle) <= SURE * spread:
        return None
    ceiling = MAX_CREDIT if above_one or credit > 1 else Fraction(1)
    rounded = _rounded(middle, STEP)
    if abs(log(rounded) - middle) > SHOWN * spread:
        rounded = _rounded(middle, FINE_STEP)
    allowed = min(ceiling, rounded)
    # Half a millionth, so that 0.80 against 0.75 is a step of 0.05 in floats too.
    return allowed if abs(float(allowed) - credit) >= float(STEP) - 5e-7 else None


def _rounded(middle: float, step: Fraction) -> Fraction:
    return max(step, round(Fraction(exp(middle)) / step) * step)


def verdict(worth: Worth) -> str:
    """Whether the credit lies where results say, as it is seen in the figures shown."""
    if worth.is_early:
        return "Few results: your credit speaks louder."
    if worth.suggestion is not None:
        return f"Clearly different: results speak for {two(float(worth.suggestion))}."
    if not worth.is_beside:
        return "No clear difference."
    if abs(worth.median - worth.credit) < float(STEP):
        return "Clearly different, but too little to change."
    if worth.credit >= 1 < worth.median:
        return "Worth more, but no credit here is more than 1."
    return "Probably different, but not clearly enough to change."


def told(worth: Worth, says: str = "the table says", *, also: str = "") -> str:
    """A worth in one or two sentences. ``also`` is what else it is credited with.

    ``Tuck rock has been worth 0.72 of a hollow rock (between 0.66 and 0.79), from 48 results;
    the table says 0.80.``
    """
    name = worth.way.label[:1].upper() + worth.way.label[1:]
    credited = f"{says} {two(worth.credit)}{also and f', {also}'}"
    if not worth.results:
        return f"{name} has not been used yet; {credited}."
    middle = (
        f"{two(worth.median)} of {one_of(worth.against)} (between {two_down(worth.low)} and "
        f"{two_up(worth.high)}), from {count(worth.results)}; {credited}."
    )
    if worth.is_early:
        return (
            f"The coach's credit speaks louder than {count(worth.results)}. "
            f"As far as they say, {worth.way.label} has been worth {middle}"
        )
    return f"{name} has been worth {middle}"


def two(value: float) -> str:
    """Two decimals, as credits are read: ``0.80``."""
    return f"{value:.2f}"


def two_down(value: float) -> str:
    """The lower end of an interval, so that rounding never narrows it."""
    return two(floor(value * 100 + 1e-9) / 100)


def two_up(value: float) -> str:
    """The upper end of an interval, so that rounding never narrows it."""
    return two(ceil(value * 100 - 1e-9) / 100)


def count(results: int) -> str:
    """``1 result``, ``48 results``."""
    return f"{results} result" if results == 1 else f"{results:,} results"


_UNITS = {"calories": "a calorie of ", "metres": "a metre of ", "seconds": "a second of "}


def one_of(way: Way) -> str:
    """One unit of a way as one says it: ``a hollow rock``, ``an air squat``, ``a metre of run``."""
    if way.unit in _UNITS:
        return _UNITS[way.unit] + way.label
    return f"{'an' if way.label[:1] in 'aeiou' else 'a'} {way.label}"
