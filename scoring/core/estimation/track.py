"""A course as arrays for the clock: what each set asks, how it is done, and the rests.

Work is measured in seconds of the typical member: units done times the seconds a unit. Costs
differ from draw to draw, so everything here takes them for all draws at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..course import Course, CourseSet
from ..credits import Choice
from ..crowd import is_course
from .naming import units, way_of
from .ways import Floats, Ints, Way, Ways

ALMOST = 1e-6
"""A rep that is done to within so much of itself counts: what computers lose in rounding."""


class NoTrack(ValueError):
    """A workout whose marks are no places on a course against the clock."""


@dataclass(frozen=True, slots=True, eq=False)
class Sets:
    """Sets in order.

    Attributes
    ----------
    way : (S,) ints
        Position among the track's own ways.
    units : (S,) floats
        Units of the whole set, more than 0.
    reps : (S,) ints
        Raw reps of it; an all-or-nothing distance or hold has one.
    block : (S,) ints
        The block's number on the course, from 1.
    """

    way: Ints
    units: Floats
    reps: Ints
    block: Ints

    def __len__(self) -> int:
        return len(self.way)

    def work(self, seconds: Floats) -> Floats:
        """Work of each set, (S, D), from seconds a unit of each way, (V, D)."""
        return np.asarray(seconds[self.way] * self.units[:, None])


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """A course as one group does it: all with the same choices.

    Attributes
    ----------
    ways : tuple of Way
        The ways it needs, sorted by key.
    sets : Sets
        The finite part.
    tail : Sets
        One round of the closing AMRAP; empty where there is none.
    rest : (B,) floats
        Seconds of rest right before each block.
    limit : int
        When the clock stops, in seconds.
    """

    ways: tuple[Way, ...]
    sets: Sets
    tail: Sets
    rest: Floats
    limit: int

    @property
    def finite(self) -> int:
        """Raw reps before the closing AMRAP, or of the whole course."""
        return int(self.sets.reps.sum())

    @property
    def is_endless(self) -> bool:
        """Whether it closes with an AMRAP."""
        return len(self.tail) > 0

    @property
    def ends(self) -> tuple[int, ...]:
        """The blocks that have an end: all but the AMRAP."""
        return tuple(range(1, len(self.rest) + (0 if self.is_endless else 1)))

    def positions(self, ways: Ways) -> Ints:
        """Where the track's ways stand among all.

        Raises
        ------
        ValueError
            For a way that isn't listed there.
        """
        found = ways.positions
        try:
            return np.array([found[way] for way in self.ways], dtype=np.int64)
        except KeyError as error:
            raise ValueError(f"Nothing is held of {error.args[0].label}.") from error

    def at_ends(self, seconds: Floats) -> Floats:
        """Work done at the end of each block that has one, (B, D)."""
        units = np.zeros((len(self.ends), len(self.ways)))
        np.add.at(units, (self.sets.block - 1, self.sets.way), self.sets.units)
        return np.asarray(np.cumsum(units, axis=0) @ seconds)

    def rests_before(self) -> Floats:
        """Seconds of all rests up to each block, (B,)."""
        return np.cumsum(self.rest)

    def reps_at(self, work: Floats, seconds: Floats) -> Ints:
        """Raw reps done, whole ones only, after so much work.

        Parameters
        ----------
        work : (M, D)
            Seconds of the typical member's work, of M members in D draws.
        seconds : (V, D)
            Seconds a unit of each of the track's ways.

        Returns
        -------
        (M, D) ints
        """
        finite = _reps(self.sets, work, seconds)
        if not self.is_endless:
            return finite
        ends = self.at_ends(seconds)
        before = ends[-1] if len(ends) else np.zeros(seconds.shape[1])
        round_ = self.tail.work(seconds).sum(axis=0)
        beyond = np.clip(work - before, 0, None)
        rounds = np.floor(beyond / round_ + ALMOST / self.tail.reps.sum())
        more = _reps(self.tail, np.clip(beyond - rounds * round_, 0, None), seconds)
        more += rounds.astype(np.int64) * int(self.tail.reps.sum())
        return np.where(finite < self.finite, finite, finite + more)


def _reps(sets: Sets, work: Floats, seconds: Floats) -> Ints:
    """Whole reps of sets that so much work does; all of them where it is more.

    The set under way is found by halving the list again and again, for all members and draws
    together: a long course costs hardly more than a short one.
    """
    if not len(sets):
        return np.zeros(work.shape, dtype=np.int64)
    own = sets.work(seconds)
    draws = own.shape[1]
    done = np.zeros((len(sets) + 1, draws))
    np.cumsum(own, axis=0, out=done[1:])
    flat = done.ravel()
    column = np.arange(draws)
    each = own / sets.reps[:, None]
    slack = ALMOST * float(each.min())
    low = np.zeros(work.shape, dtype=np.int64)
    step = 1 << (len(sets).bit_length() - 1)
    reach = work + slack
    while step:
        there = np.minimum(low + step, len(sets))
        np.copyto(low, there, where=flat[there * draws + column] <= reach)
        step >>= 1
    at = np.minimum(low, len(sets) - 1)
    index = at * draws + column
    into = (work - flat[index]) / each.ravel()[index] + ALMOST
    before = np.concatenate(([0], np.cumsum(sets.reps)))
    reps = before[at] + np.clip(np.floor(into), 0, sets.reps[at]).astype(np.int64)
    return np.asarray(np.where(low == len(sets), before[-1], reps))


def track(course: Course, choices: Mapping[int, Choice] | None = None) -> Track:
    """The course as it is done with a choice for some of its lines.

    Parameters
    ----------
    course
        A course of ladders, rounds and a closing AMRAP.
    choices
        By index of the course line; the lines without one are done as prescribed. A choice's
        share of the reps isn't looked at: it holds for all of the line.

    Raises
    ------
    NoTrack
        For intervals, a strength piece and a workout with nothing scored.
    """
    if not is_course(course) or course.limit is None:
        raise NoTrack("Only ladders, rounds and AMRAPs against the clock have places.")
    chosen = choices or {}
    by_line = [way_of(line, chosen.get(line.index)) for line in course.lines]
    ways = tuple(sorted(set(by_line), key=lambda way: way.key))
    position = [ways.index(way) for way in by_line]

    def arrays(sets: tuple[CourseSet, ...]) -> Sets:
        return Sets(
            np.array([position[s.line.index] for s in sets], dtype=np.int64),
            np.array([float(units(s.line, s.reps)) for s in sets]),
            np.array([s.reps for s in sets], dtype=np.int64),
            np.array([s.block for s in sets], dtype=np.int64),
        )

    rest = np.array([float(block.rest) for block in course.blocks])
    return Track(ways, arrays(course.sets), arrays(course.tail), rest, course.limit)
