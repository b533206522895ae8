"""What a class's results say of time: when the clock told how many reps were done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from ..marks import Caught, Finished, IntervalReps, Lifted, Mark
from ..scoring import Result
from .on_course import OnCourse
from .ways import Floats, Ints


class Wrong(ValueError):
    """A result that can't be."""


@dataclass(slots=True, eq=False)
class Times:
    """Times of the results of one class, a result's splits before its end.

    ``results`` are those that count, by position in what was given; the others are counted
    in ``left_out`` (they can't be) or ``silent`` (no pace in them). Rows: ``of`` (R,) is the
    position in ``results``, ``seconds`` (R,) without rests, ``counts`` (R, lines) raw reps,
    ``stop`` (R,) the line under way when the clock stopped, -1 for a time.
    """

    results: list[int] = field(default_factory=list)
    left_out: int = 0
    silent: int = 0
    of: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    seconds: Floats = field(default_factory=lambda: np.zeros(0))
    counts: Ints = field(default_factory=lambda: np.zeros((0, 0), dtype=np.int64))
    stop: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))


def times(on: OnCourse, results: Sequence[Result]) -> Times:
    """Read the clock of a class's results."""
    told = Times()
    of: list[int] = []
    clock: list[float] = []
    raws: list[int] = []
    block: list[int] = []  # of a split; 0 for a finish, -1 where the clock stopped
    interval_rows: dict[int, IntervalReps] = {}
    for index, result in enumerate(results):
        mark = result.mark
        try:
            raw, seconds, is_caught = _end(on, mark)
            splits = _splits(on, result, raw, seconds) if result.splits else ()
        except Wrong:
            told.left_out += 1
            continue
        if seconds <= 0:
            told.silent += 1
            continue
        position = len(told.results)
        told.results.append(index)
        if not raw:
            continue
        for number, split in splits:
            of.append(position)
            clock.append(split)
            raws.append(on.ends[number])
            block.append(number)
        if isinstance(mark, IntervalReps):
            interval_rows[len(of)] = mark
        of.append(position)
        clock.append(seconds)
        raws.append(raw)
        block.append(-1 if is_caught else 0)
    told.of = np.array(of, dtype=np.int64)
    told.seconds = np.array(clock, dtype=np.float64)
    _place(on, told, np.array(raws, dtype=np.int64), np.array(block, dtype=np.int64))
    for row, intervals in interval_rows.items():
        told.counts[row], told.stop[row] = _interval_counts(on, intervals)
    _drop_timeless(told)
    return told


def _end(on: OnCourse, mark: Mark) -> tuple[int, float, bool]:
    """Raw reps, seconds on the clock (0: no pace in it) and whether the clock stopped them."""
    limit = on.course.limit or 0
    if isinstance(mark, Lifted) or on.is_lift:
        return 0, 0.0, False
    if on.is_intervals:
        return _intervals_end(on, mark)
    if isinstance(mark, Caught):
        if not 0 <= mark.reps < on.beyond:
            raise Wrong
        return mark.reps, float(limit), True
    if not isinstance(mark, Finished) or on.course.total is None:
        raise Wrong
    if not 0 < mark.seconds <= (limit or mark.seconds):
        raise Wrong
    return on.course.total, float(mark.seconds), False


def _intervals_end(on: OnCourse, mark: Mark) -> tuple[int, float, bool]:
    """Only intervals that end with all the reps one can are work to the last second."""
    block = on.course.blocks[0].block
    length = float(block.seconds or 0)
    to_the_last = block.lines[-1].count is None
    if isinstance(mark, IntervalReps):
        size = sum(course_set.reps for course_set in on.course.sets[: len(block.lines)])
        if len(mark.reps) > block.rounds or any(not 0 <= reps <= size for reps in mark.reps):
            raise Wrong
        begun = max((i for i, reps in enumerate(mark.reps, start=1) if reps), default=0)
        return sum(mark.reps), length * (begun or 1) if to_the_last else 0.0, True
    if not isinstance(mark, Caught) or mark.reps < 0:
        raise Wrong
    if not to_the_last or len(block.lines) > 1:
        return 0, 0.0, True
    return mark.reps, length * block.rounds, True


def _splits(on: OnCourse, result: Result, raw: int, seconds: float) -> list[tuple[int, float]]:
    """Splits by block that say more than the end does, in order."""
    found, before = [], 0.0
    for number, split in sorted(result.splits.items()):
        end, at = on.ends.get(number, 0), float(split)
        if not 0 < end <= raw or not before < at <= seconds:
            raise Wrong
        before = at
        if end != on.course.total:
            found.append((number, at))
    return found


def _place(on: OnCourse, told: Times, raw: Ints, block: Ints) -> None:
    """Reps of each line and seconds without rests, for all rows at once."""
    lines = len(on.course.lines)
    if not len(raw):
        told.counts = np.zeros((0, lines), dtype=np.int64)
        return
    if on.is_intervals:
        # One line's total, whichever interval it was in; more lines are filled in after.
        told.counts = np.zeros((len(raw), lines), dtype=np.int64)
        told.counts[:, -1] = raw
        told.stop = np.full(len(raw), lines - 1, dtype=np.int64)
        return
    at = on.at(raw)
    told.counts = at.counts
    told.stop = np.where(block < 0, at.line, -1)
    rested = at.rested
    for number in np.unique(block[block > 0]).tolist():
        rested[block == number] = on.rested[number]
    # Who noted when they came to the rest they were in tells how much of it had passed.
    known = np.flatnonzero((block[1:] < 0) & (block[:-1] > 0) & (at.begins[1:] == block[:-1] + 1))
    for row in (known + 1).tolist():
        number = int(block[row - 1])
        most = on.rested[number + 1] - on.rested[number]
        rested[row] = on.rested[number] + min(most, told.seconds[row] - told.seconds[row - 1])
    told.seconds = told.seconds - rested


def _interval_counts(on: OnCourse, mark: IntervalReps) -> tuple[Ints, int]:
    """Raw reps of each line, and the line under way at the end of the last interval begun."""
    sets = on.course.sets[: len(on.course.lines)]
    counts, stop = np.zeros(len(sets), dtype=np.int64), 0
    for reps in filter(None, mark.reps):
        left = reps
        for course_set in sets:
            stop = course_set.line.index
            done = min(left, course_set.reps)
            counts[stop] += done
            left -= done
            if done < course_set.reps:
                break
    return counts, stop


def _drop_timeless(told: Times) -> None:
    """Take out rows with no time left after their rests; who has no other tells nothing."""
    works = told.seconds > 0
    if not works.all():
        told.of, told.seconds = told.of[works], told.seconds[works]
        told.counts, told.stop = told.counts[works], told.stop[works]
