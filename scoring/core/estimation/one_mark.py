"""One mark of a course against an estimate, with all that hangs on the course alone made once.

It tells what ``gather``, ``marks_of`` and ``surprises`` tell of a class with this one mark, to
the last digit; those are made for thousands at once and take ten times as long for one.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..course import Course
from ..credits import Choice, CreditTable
from ..scoring import Result
from .drawn import standing
from .estimate import Estimate
from .extending import extended
from .impossible import Marks, Surprise, surprises
from .impossible_words import Anybody
from .listing import Listing, ways_of
from .naming import units, way_of
from .on_course import OnCourse
from .portioning import Laying
from .times import Times, times
from .ways import Ints, Way, Ways

KEPT_CHOICES = 64
"""So many different sets of options and loads of a course are kept ready, the last ones met."""


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """A mark beside what was to be expected: ``surprise`` is of this one mark, or of none where
    it tells nothing of pace; ``estimate`` holds the ways of its course and its choices alone."""

    estimate: Estimate
    surprise: Surprise
    too_fast: str


class OneByOne:
    """Compares marks of a course one at a time.

    Parameters
    ----------
    estimate
        Of whom its members are told by their positions.
    course
        Whether it weighs reps doesn't matter here.
    table
        The gym's credits of today.
    """

    def __init__(self, estimate: Estimate, course: Course, table: CreditTable) -> None:
        self._levels = estimate.levels
        # Without anybody's levels, which are turned with the ways at some cost and for nothing.
        bare = replace(estimate, levels=replace(estimate.levels, lean=estimate.levels.lean[:0]))
        self._estimate = extended(bare, ways_of([course], table, estimate.ways))
        self._course, self._table = course, table
        self._on = OnCourse(course if course.weighted else Course(course.workout, weighted=True))
        self._is_timed = bool(course.lines) and not self._on.is_lift
        self._widths = widths(course)
        self._ready: OrderedDict[tuple[object, ...], _Ready] = OrderedDict()

    def against(
        self,
        result: Result,
        *,
        member: int,
        day: float,
        effect: float = 0.0,
        effect_variance: float | None = None,
    ) -> Told:
        """A mark beside what was to be expected of its member on a day.

        Parameters
        ----------
        member
            Position in the estimate's levels, -1 for somebody without results.
        day
            In the days of the estimate's results.
        effect, effect_variance
            What is common to the class, in log time, where something is known of it.
        """
        told = times(self._on, [result]) if self._is_timed else Times()
        ready = self._ready_for(result.choices, bool(told.results))
        marks = self._marks(ready, told, result, member, day)
        return Told(
            ready.estimate,
            surprises(ready.estimate, marks, effect=effect, effect_variance=effect_variance),
            ready.anybody.too_fast(result),
        )

    def _ready_for(self, choices: Sequence[Choice], tells_pace: bool) -> _Ready:
        # How many reps, but not whether some or all, is no matter of ways.
        own = tuple(c if c.reps is None else replace(c, reps=1) for c in choices)
        key = (tells_pace, *own)
        ready = self._ready.get(key)
        if ready is None:
            ready = self._ready[key] = self._made_for(own, tells_pace)
            while len(self._ready) > KEPT_CHOICES:
                self._ready.popitem(last=False)
        return ready

    def _made_for(self, choices: tuple[Choice, ...], tells_pace: bool) -> _Ready:
        if not tells_pace:  # then its own loads aren't listed
            return _Ready(self._of_course(self._estimate, choices), self._course, None, {})
        listing, numbers = Listing(self._table), dict[Way, int]()
        listing.see(self._on.course)
        laying = Laying(self._on, listing, 0.0, lambda way: numbers.setdefault(way, len(numbers)))
        # Lays nothing, but names every way that the choices use.
        laying.lay(times(self._on, []), [choices])
        known = self._of_course(extended(self._estimate, listing.ways()), choices)
        return _Ready(known, self._course, laying, numbers)

    def _of_course(self, estimate: Estimate, choices: tuple[Choice, ...]) -> Estimate:
        """The estimate of the ways alone that a mark with such choices can have to do with."""
        found = set()
        for line in self._course.lines:
            offered = [Choice(line.index, n) for n in range(len(line.line.options))]
            own = [choice for choice in choices if choice.line == line.index]
            found |= {way_of(line), *(way_of(line, choice) for choice in (*offered, *own))}
        positions = estimate.ways.positions
        kept = np.array(sorted(positions[way] for way in found if way in positions), dtype=np.int64)
        ways = estimate.ways
        return replace(
            estimate,
            ways=Ways(
                tuple(ways.ways[at] for at in kept),
                ways.base[kept],
                np.full(len(kept), -1, dtype=np.int64),
                np.zeros(len(kept)),
            ),
            cost=estimate.cost[kept],
            covariance=estimate.covariance[np.ix_(kept, kept)],
            used=estimate.used[kept],
            levels=self._levels,
        )

    def _marks(self, ready: _Ready, told: Times, result: Result, member: int, day: float) -> Marks:
        """The mark as ``surprises`` takes it; none where it tells nothing of pace."""
        if ready.laying is None or not len(told.seconds):
            return _NOTHING
        laid = ready.laying.lay(told, [result.choices])
        if not laid.possible[0]:
            return _NOTHING
        # The last by the clock; of rows at the same second the one told last.
        end = int(np.flatnonzero(told.seconds == told.seconds.max())[-1])
        rows = laid.row == end
        used, column = np.unique(ready.at[laid.way[rows]], return_inverse=True)
        stop, under_way = int(laid.stop[end]), 0.0
        if stop >= 0:
            width = self._widths.get(ready.ways[stop], 1.0)
            under_way = width * float(np.exp(ready.estimate.cost[ready.at[stop]]))
        held = standing(ready.estimate, np.array([member]), day)
        return Marks(
            mean=held.mean,
            variance=held.variance,
            seconds=told.seconds[[end]],
            used=used,
            counts=np.bincount(column, laid.amount[rows], len(used)).astype(np.float64)[None, :],
            under_way=np.array([under_way]),
        )


class _Ready:
    """What marks with the same options and loads share: ``ways`` are the numbers of ``laying``,
    ``at`` where the estimate has them."""

    def __init__(
        self, estimate: Estimate, course: Course, laying: Laying | None, numbers: dict[Way, int]
    ) -> None:
        self.estimate, self.laying, self._course = estimate, laying, course
        self.ways = tuple(numbers)
        positions = estimate.ways.positions
        self.at: Ints = np.array([positions[way] for way in numbers], dtype=np.int64)

    @cached_property
    def anybody(self) -> Anybody:
        return Anybody(self.estimate, self._course)


def widths(course: Course) -> dict[Way, float]:
    """Units in one raw rep, of the ways of lines where that isn't one: a run of 400 metres."""
    found: dict[Way, float] = {}
    for line in course.lines:
        width = float(units(line))
        if width == 1:
            continue
        ways = [way_of(line)]
        ways += [way_of(line, Choice(line.index, n)) for n in range(len(line.line.options))]
        for way in ways:
            found[way] = max(width, found.get(way, 0.0))
    return found


_NONE = np.zeros(0)
_NOTHING = Marks(_NONE, _NONE, _NONE, np.zeros(0, dtype=np.int64), np.zeros((0, 0)), _NONE)
