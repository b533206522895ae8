"""A planned course on the clock: every set and rest from when to when, by usual seconds.

Of intervals one is told, since all are alike: its ``max`` set takes what is left of it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from .course import MAX_SET_REPS, Course, CourseSet
from .drawing import Drawing, Segment
from .prescription import BlockKind
from .totals import rep_seconds


@dataclass(frozen=True, slots=True)
class Clocked:
    """Stretches in order; ``stops`` is the cap or the interval's end in seconds, ``group``
    where on this scale a group is stopped, if that was asked."""

    stretches: tuple[Segment, ...]
    stops: int | None
    is_interval: bool
    group: Fraction | None


def clocked(
    course: Course,
    group_raw: int | None = None,
    lengths: Callable[[CourseSet], Fraction] | None = None,
) -> Clocked:
    """A course on the clock; a strength piece has no stretches.

    ``group_raw`` are the raw reps at which the cap stops a group; ``lengths`` says how long a
    set takes where that was learned.
    """
    if course.blocks and course.workout_block(1).kind is BlockKind.INTERVALS:
        return _one_interval(course)
    drawing = Drawing(course, group_raw or 0, lengths)
    group = None if group_raw is None else drawing.at(group_raw)
    return Clocked(drawing.segments, course.limit, False, group)


def _one_interval(course: Course) -> Clocked:
    timed = Course(course.workout, weighted=True)
    length = course.blocks[0].block.seconds or 0
    clock, raw = Fraction(0), 0
    found: list[Segment] = []
    for course_set in timed.sets[: len(timed.lines)]:
        if course_set.count == MAX_SET_REPS:
            end = max(clock, Fraction(length))
        else:
            end = clock + course_set.reps * rep_seconds(course_set.line)
        found.append(Segment(clock, end, raw, raw + course_set.reps, 1, 1, course_set))
        clock, raw = end, raw + course_set.reps
    return Clocked(tuple(found), length, True, None)
