"""How honest forecasts have been: what they promised beside what happened.

A place is a whole number of reps, and where there are few of them an interval of nominally
80 % may hold more of a forecast's own draws than that. What it promised is therefore counted
on the draws themselves, and what it held is compared with that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .proper_scores import Coverage, coverage, crps, pit


@dataclass(frozen=True, slots=True)
class Foreseen:
    """One member's forecast and what they did, in raw reps: draws in rising order, the ends
    of the half and of the four fifths in the middle, what anybody would have been given
    without an estimate, and what was done."""

    ensemble: tuple[int, ...]
    low: int
    quarter: int
    middle: int
    three_quarters: int
    high: int
    naive: int
    done: int

    @property
    def is_inside(self) -> bool:
        """Within the range that four cases of five should fall in."""
        return self.low <= self.done <= self.high


@dataclass(frozen=True, slots=True)
class Kept:
    """An interval: the share that it promised to hold, and what it held."""

    promised: float
    held: Coverage


@dataclass(frozen=True, slots=True)
class Honesty:
    """Of ``count`` results in ``classes`` classes.

    ``fifths`` is of the range for four cases of five, ``half`` of the one for half of them.
    ``score`` is the mean score of the forecasts in reps, ``naive_score`` of the naive ones:
    less is better. ``bias`` is by how many reps results lay further than the middle of their
    forecast, on average; ``above`` the share of forecasts' draws that results lay above, on
    average: a half without bias.
    """

    count: int
    classes: int
    fifths: Kept
    half: Kept
    score: float
    naive_score: float
    bias: float
    above: float


def honesty(rows: Sequence[Foreseen], classes: Sequence[int] | None = None) -> Honesty | None:
    """What forecasts were worth; ``None`` of none. ``classes`` say which class each result is
    of, by default one of its own: results of a class share its day."""
    if not rows:
        return None
    draws = np.array([row.ensemble for row in rows])
    done = np.array([row.done for row in rows])

    def kept(low: Sequence[int], high: Sequence[int]) -> Kept:
        below, above = np.array(low), np.array(high)
        inside = (draws >= below[:, None]) & (draws <= above[:, None])
        held = (done >= below) & (done <= above)
        return Kept(float(inside.mean()), coverage(held, classes))

    return Honesty(
        count=len(rows),
        classes=len(set(range(len(rows)) if classes is None else classes)),
        fifths=kept([row.low for row in rows], [row.high for row in rows]),
        half=kept([row.quarter for row in rows], [row.three_quarters for row in rows]),
        score=float(crps(draws, done).mean()),
        naive_score=float(np.abs(done - np.array([row.naive for row in rows])).mean()),
        bias=float((done - np.array([row.middle for row in rows])).mean()),
        above=float(pit(draws, done).mean()),
    )
