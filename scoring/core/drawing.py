"""The course to scale: how long each set takes by reference seconds, and where a mark lies.

A rung of nine heavy squats is longer than one of nine sit-ups, so a picture to scale of
reps would show the crowd stopping where the work is merely slow. Here the scale is time:
each set is as long as its reference seconds, and an AMRAP goes on for as many rounds as the
clock, or the furthest mark, asks for.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from .course import Course, CourseSet
from .marks import Caught, Finished, IntervalReps, Mark

MOST_SETS = 600
"""Sets drawn at most; a longer course is drawn up to there."""


@dataclass(frozen=True, slots=True)
class Segment:
    """One set, or a rest, on the scale.

    ``start`` and ``end`` are seconds from the start of the work; ``first`` and ``last`` are
    the raw reps before and after it. ``course_set`` is ``None`` for a rest. ``round`` is the
    rung, round or interval from 1.
    """

    start: Fraction
    end: Fraction
    first: int
    last: int
    block: int
    round: int
    course_set: CourseSet | None

    @property
    def seconds(self) -> Fraction:
        return self.end - self.start


class Drawing:
    """A course drawn to scale.

    Parameters
    ----------
    course
        A course of sets; a strength piece has none and gives no segments.
    furthest
        The most raw reps to be shown; an AMRAP is drawn to the end of that round, and at
        least to the cap at the reference pace.
    lengths
        How long a set takes, more than 0, where more is known of it than its reference
        seconds.

    Attributes
    ----------
    segments : tuple of Segment
        In order, without gaps.
    length : Fraction
        Seconds of all that is drawn.
    limit : int or None
        The cap, in seconds; it may lie before or behind the end of the work.
    """

    def __init__(
        self,
        course: Course,
        furthest: int = 0,
        lengths: Callable[[CourseSet], Fraction] | None = None,
    ) -> None:
        self.course = course
        self._lengths = lengths or self._by_reference
        timed = course if course.weighted else Course(course.workout, weighted=True)
        self._weights = [line.weight for line in timed.lines]
        self.limit = course.limit
        segments: list[Segment] = []
        clock, raw = Fraction(0), 0
        for course_set in course.sets[:MOST_SETS]:
            if segments and segments[-1].block != course_set.block:
                clock = self._rest(segments, clock, raw, course_set.block)
            segment = self._segment(course_set, clock, raw)
            segments.append(segment)
            clock, raw = segment.end, segment.last
        if course.tail and len(course.sets) <= MOST_SETS:
            clock = self._rest(segments, clock, raw, course.tail[0].block)
            self._tail(segments, clock, raw, furthest)
        self.segments = tuple(segments)
        self.length = segments[-1].end if segments else Fraction(0)
        self._firsts = [s.first for s in self.segments]

    def _rest(self, segments: list[Segment], clock: Fraction, raw: int, block: int) -> Fraction:
        """Draw the rest right before a block, if there is one; answers when it ends."""
        seconds = self.course.blocks[block - 1].rest
        if seconds:
            segments.append(Segment(clock, clock + seconds, raw, raw, block, 0, None))
        return clock + seconds

    def _segment(self, course_set: CourseSet, clock: Fraction, raw: int) -> Segment:
        seconds = self._lengths(course_set)
        return Segment(
            clock, clock + seconds, raw, raw + course_set.reps,
            course_set.block, course_set.round, course_set,
        )  # fmt: skip

    def _by_reference(self, course_set: CourseSet) -> Fraction:
        return Fraction(course_set.reps * self._weights[course_set.line.index], 10)

    def _tail(self, segments: list[Segment], clock: Fraction, raw: int, furthest: int) -> None:
        """Whole rounds up to the cap at the reference pace and to the furthest mark."""
        course = self.course
        limit = Fraction(course.limit or 0)
        index = len(course.sets)
        while len(segments) < MOST_SETS:
            for _ in course.tail:
                segment = self._segment(course.set_at(index), clock, raw)
                segments.append(segment)
                clock, raw, index = segment.end, segment.last, index + 1
            if clock >= limit and raw > furthest:
                return

    def at(self, raw: int) -> Fraction:
        """Where a place after ``raw`` reps lies, in seconds of the scale.

        A place between two sets is the start of the later one, behind a rest. What lies
        beyond the drawing is its end.
        """
        if not self.segments or raw <= 0:
            return Fraction(0)
        position = bisect_right(self._firsts, raw) - 1
        segment = self.segments[position]
        if raw >= segment.last:
            return segment.end
        done = Fraction(raw - segment.first, max(1, segment.last - segment.first))
        return segment.start + segment.seconds * done

    def of_mark(self, mark: Mark) -> Fraction | None:
        """Where a mark lies; a finisher at the end, ``None`` for a load that was lifted."""
        if isinstance(mark, Finished):
            return self.length
        if isinstance(mark, Caught):
            return self.at(mark.reps)
        if isinstance(mark, IntervalReps):
            return self.at(sum(mark.reps))
        return None

    def segment_at(self, raw: int) -> Segment | None:
        """The set in which the rep after ``raw`` is done; ``None`` at the finish."""
        found = [s for s in self.segments[bisect_right(self._firsts, raw) - 1 :] if s.course_set]
        return next((s for s in found if s.first <= raw < s.last), None)
