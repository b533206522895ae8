"""The change of a group's pace from one time of a workout to the next.

Paces are compared by their ratio, on a logarithmic scale, so that a gain of a tenth and
the loss that undoes it cancel. The figure is of the same members both times: who came only
once says nothing of a change.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import exp, log

from .comparing import paired


@dataclass(frozen=True, slots=True)
class PaceChange:
    """The mean change in percent and the interval that holds the true one 95 times of 100.

    ``low`` and ``high`` are ``None`` from few pairs (``comparing.FEW``): it could be chance.
    ``left_out`` counts pairs in which somebody did nothing at all, which have no ratio.
    """

    count: int
    percent: float
    low: float | None
    high: float | None
    left_out: int


def pace_change(pairs: Sequence[tuple[Fraction, Fraction]]) -> PaceChange | None:
    """The change over pairs of (then, now); ``None`` where no pair can be compared."""
    logs = [(log(then), log(now)) for then, now in pairs if then > 0 and now > 0]
    if not logs:
        return None
    found = paired([then for then, _ in logs], [now for _, now in logs])
    assert found.value is not None  # there are pairs
    low, high = (None, None) if found.is_from_few else (found.low, found.high)
    return PaceChange(
        count=found.n,
        percent=_percent(found.value),
        low=None if low is None else _percent(low),
        high=None if high is None else _percent(high),
        left_out=len(pairs) - found.n,
    )


def _percent(difference: float) -> float:
    return (exp(difference) - 1) * 100


def percent_of(then: Fraction, now: Fraction) -> float | None:
    """One member's change in percent; ``None`` where nothing was done then."""
    return float((now / then - 1) * 100) if then else None
