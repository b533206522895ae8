"""What the pictures of single members, options and classes show: fits of one invented gym."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from scoring.core.estimation.estimate import Estimate
from scoring.core.estimation.fit import fit
from scoring.core.estimation.forecast import Field, Forecast
from scoring.core.estimation.problem import problem
from scoring.core.estimation.residuals import residuals
from scoring.core.estimation.rows import Rows

from .calibrate import Z_80, _track
from .estimator_scene import Drawn, Scene, Size, scene

GYM = Size(members=40, classes=60, each=20, movements=10, held=1)
"""The gym that they are of."""

LONG = Size(members=120, classes=100, each=40, movements=8)
"""A gym over eight months, for a level over time."""

AWAY = (60.0, 140.0)
"""The days on which the member of the first picture doesn't come; nor do they in the end."""

LAST = 200.0
TODAY = 250.0

COUNTS = (5, 15, 50, 150)
"""Results with an option, in the second picture."""

DRAWS = 1000


@cache
def gym() -> Scene:
    """Nobody notes splits in it, as most people don't."""
    return scene(GYM, 5, splits=0.0)


def with_results(rows: Rows, keep: np.ndarray) -> Rows:
    """The rows of some results alone; ``keep`` is a flag a result."""
    own = keep[rows.result]
    return replace(
        rows,
        member=rows.member[keep],
        class_=rows.class_[keep],
        day=rows.day[keep],
        result=(np.cumsum(keep) - 1)[rows.result[own]],
        seconds=rows.seconds[own],
        stop=rows.stop[own],
        counts=rows.counts[own],
    )


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """A member's level: the estimate, what each result alone says, and the truth by day."""

    found: Estimate
    member: int
    single: list[tuple[float, float]]
    truth: list[tuple[float, float]]


@cache
def path() -> Path:
    """The member with most results, who stays away twice."""
    drawn = scene(LONG, 7)
    rows = drawn.rows
    member = int(np.argmax(np.bincount(rows.member)))
    away = ((rows.day > AWAY[0]) & (rows.day < AWAY[1])) | (rows.day > LAST)
    rows = with_results(rows, ~(away & (rows.member == member)))
    found = fit(drawn.ways, rows)
    ready = problem(drawn.ways, rows)
    told = residuals(ready, found.cost, found.spreads.fade)
    own = np.flatnonzero(rows.member[ready.kept] == member)
    alone = told.level[own] - found.effect[ready.class_[own]]
    days = rows.day[ready.kept[own]]
    known = [each.day for each in drawn.classes]
    truth = [(day, float(drawn.level[number][member])) for number, day in enumerate(known)]
    return Path(found, member, list(zip(days.tolist(), alone.tolist(), strict=True)), truth)


@dataclass(frozen=True, slots=True)
class Worth:
    """What an option was worth after so many results with it."""

    results: int
    low: float
    median: float
    high: float
    spread: float


@cache
def worths() -> tuple[list[Worth], float, float]:
    """After 5, 15, 50 and 150 results with an option, with all results that don't have it;
    then the coach's credit, and the truth. The option is, of those with results enough, the
    one whose credit is furthest off."""
    drawn = gym()
    rows, ways = drawn.rows, drawn.ways
    has = np.zeros((len(rows), len(ways)), dtype=bool)
    entries = rows.counts.tocoo()
    has[rows.result[entries.row], entries.col] = True
    off = np.abs(drawn.cost - drawn.cost[ways.parent] - ways.tie)
    off[(ways.parent < 0) | (has.sum(axis=0) < COUNTS[-1])] = -1
    option = int(np.argmax(off))
    parent = int(ways.parent[option])
    with_it = np.flatnonzero(has[:, option])
    with_it = with_it[np.argsort(rows.day[with_it], kind="stable")]
    found = []
    for count in COUNTS:
        keep = ~has[:, option]
        keep[with_it[:count]] = True
        got = fit(ways, with_results(rows, keep))
        middle = got.cost[option] - got.cost[parent]
        pair = got.covariance[np.ix_([option, parent], [option, parent])]
        spread = float(np.sqrt(pair[0, 0] + pair[1, 1] - 2 * pair[0, 1]))
        low, median, high = np.exp(middle + Z_80 * spread * np.array([-1, 0, 1]))
        found.append(Worth(count, float(low), float(median), float(high), spread))
    truth = float(np.exp(drawn.cost[option] - drawn.cost[parent]))
    return found, float(np.exp(ways.tie[option])), truth


@cache
def foreseen() -> tuple[Forecast, Drawn, np.ndarray]:
    """The forecast of a class that the fit knew nothing of, and where its members stopped."""
    drawn = gym()
    found = fit(drawn.ways, drawn.rows)
    at = np.flatnonzero(drawn.held)
    group = drawn.classes[int(drawn.class_[at[0]])]
    patterns, chosen = np.unique(
        np.array([drawn.taken[i] for i in at]), axis=0, return_inverse=True
    )
    tracks = [_track(drawn, group, pattern) for pattern in patterns]
    field = Field(found, tracks, chosen.ravel(), drawn.member[at], group.day, draws=DRAWS)
    return field.forecast(int(group.cap)), group, drawn.done[at]
