"""A course as arrays: the reps of each line at many places at once."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate

import numpy as np

from ..course import MAX_RAW_REPS, Course, CourseSet
from ..prescription import BlockKind
from .naming import units
from .ways import Floats, Ints


@dataclass(frozen=True, slots=True, eq=False)
class At:
    """Places: ``counts`` (n, lines) raw reps of each line by then, ``line`` (n,) the line
    under way, -1 at the finish, ``begins`` (n,) the block at whose very start they are, 0 for
    none, and ``rested`` (n,) the seconds of rest passed.

    Who is at the start of a block was somewhere in the rest before it: half of it is taken as
    passed.
    """

    counts: Ints
    line: Ints
    begins: Ints
    rested: Floats


class OnCourse:
    """What gathering asks of a course again and again.

    Attributes
    ----------
    course : Course
        It weighs reps.
    unit : (lines,) floats
        Units of a raw rep.
    beyond : int
        Raw reps that nobody who was caught can have.
    ends : dict
        Raw reps at the end of each block that has one, by number.
    rested : dict
        Seconds of rest up to the end of each block, by number.
    """

    def __init__(self, course: Course) -> None:
        self.course = course
        self.unit = np.array([float(units(line)) for line in course.lines])
        kinds = {block.block.kind for block in course.blocks}
        self.is_lift = BlockKind.MAX_LOAD in kinds
        self.is_intervals = BlockKind.INTERVALS in kinds
        self.beyond = MAX_RAW_REPS + 1 if course.total is None else course.total
        last = len(course.blocks) - (1 if course.tail else 0)
        self.ends = {n: course.block_end(n) for n in range(1, last + 1)} if course.sets else {}
        rests = list(accumulate(block.rest for block in course.blocks))
        self.rested = dict(enumerate(rests, start=1))
        self._line, self._reps, self._table = _laid(course.sets, len(course.lines))
        self._ends = np.cumsum(self._reps)
        self._tail_line, self._tail_reps, self._tail_table = _laid(course.tail, len(course.lines))
        self._tail_ends = np.cumsum(self._tail_reps)
        own = [block.rest for block in course.blocks]
        self._rest_in = np.array([0.0, *rests])
        self._rest_at_start = np.array([0.0, *(r - o / 2 for r, o in zip(rests, own, strict=True))])
        everything = (*course.sets, *course.tail)
        self._block = np.array([s.block for s in everything], dtype=np.int64)
        self._is_first = np.array(
            [s.line.position == 1 and s.round == 1 for s in everything], dtype=bool
        )

    def at(self, raw: Ints) -> At:
        """Places by their raw reps, all of them on the course."""
        finite = int(self._ends[-1]) if len(self._ends) else 0
        sets = len(self._ends)
        index = np.searchsorted(self._ends, raw, side="right")
        in_tail = raw >= finite
        counts = self._table[index]
        line = np.full(len(raw), -1, dtype=np.int64)
        block = np.full(len(raw), len(self.course.blocks), dtype=np.int64)
        at_start = np.zeros(len(raw), dtype=bool)
        before = np.flatnonzero(~in_tail)
        if len(before):
            where = index[before]
            line[before] = self._line[where]
            done = raw[before] - (self._ends[where] - self._reps[where])
            counts[before, line[before]] += done
            block[before] = self._block[where]
            at_start[before] = self._is_first[where] & (done == 0)
        after = np.flatnonzero(in_tail)
        if len(after) and len(self._tail_ends):
            rounds, into = np.divmod(raw[after] - finite, int(self._tail_ends[-1]))
            where = np.searchsorted(self._tail_ends, into, side="right")
            line[after] = self._tail_line[where]
            counts[after] += rounds[:, None] * self._tail_table[-1] + self._tail_table[where]
            done = into - (self._tail_ends[where] - self._tail_reps[where])
            counts[after, line[after]] += done
            block[after] = self._block[sets]
            at_start[after] = raw[after] == finite
        rested = np.where(at_start, self._rest_at_start[block], self._rest_in[block])
        return At(counts, line, np.where(at_start, block, 0), rested)


def _laid(sets: tuple[CourseSet, ...], lines: int) -> tuple[Ints, Ints, Ints]:
    """Line and reps of each set, and the reps of each line before each set and at the end."""
    line = np.array([s.line.index for s in sets], dtype=np.int64)
    reps = np.array([s.reps for s in sets], dtype=np.int64)
    table = np.zeros((len(sets) + 1, lines), dtype=np.int64)
    table[np.arange(1, len(sets) + 1), line] = reps
    return line, reps, np.cumsum(table, axis=0)
