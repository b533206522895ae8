"""A course in reference seconds: where its sets lie, and how far a pace gets by the cap.

Reference seconds are the catalogue's usual ones a rep (common practice, no source), rests
as long as they are written. So everything here is a plan to compare with, not a promise.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from .course import Course, CourseSet, Place
from .prescription import BlockKind


@dataclass(frozen=True, slots=True)
class Part:
    """A set, or a rest (``course_set`` is ``None``), from ``start`` to ``end`` seconds."""

    start: Fraction
    end: Fraction
    course_set: CourseSet | None


class Reference:
    """The reference seconds of a course whose marks are places.

    Parameters
    ----------
    course
        Any course of ladders, rounds and a closing AMRAP.
    """

    def __init__(self, course: Course) -> None:
        self.course = Course(course.workout, weighted=True)
        self.rests = self._rests_before()

    def _rests_before(self) -> dict[int, int]:
        """Seconds of rest before each block of the course, all earlier ones included."""
        found: dict[int, int] = {}
        rest = 0
        for block in self.course.workout.scored_blocks:
            if block.kind is BlockKind.REST:
                rest += block.seconds or 0
            else:
                found[len(found) + 1] = rest
        return found

    def _work(self, place: Place) -> Fraction:
        weight = self.course.weight_before(place.index)
        if place.reps:
            weight += place.reps * self.course.set_at(place.index).line.weight
        return Fraction(weight, 10)

    def at(self, raw: int) -> Fraction:
        """Seconds at which the reference pace has done ``raw`` reps and the rests before the
        next. Raises ``PlaceError`` for reps beyond the course."""
        place = self.course.place(raw)
        block = len(self.course.blocks)
        if self.course.tail or place.index < len(self.course.sets):
            block = self.course.set_at(place.index).block
        return self._work(place) + self.rests[block]

    def block_end(self, block: int) -> Fraction:
        """Seconds at which the reference pace ends a block, before any rest after it."""
        place = self.course.place(self.course.block_end(block))
        return self._work(place) + self.rests[block]

    @property
    def total(self) -> Fraction | None:
        """Seconds of the whole course; ``None`` when it is endless."""
        return None if self.course.total is None else self.block_end(len(self.course.blocks))

    def reached(self, seconds: Fraction) -> Place:
        """The last whole rep that the reference pace does by then, as a place."""
        if self.total is not None and seconds >= self.total:
            return Place(len(self.course.sets), 0)
        for block in self.course.blocks[:-1]:
            end = self.block_end(block.number)
            if seconds < end:
                return self._reached(seconds, block.number)
            if seconds < end + self.rests[block.number + 1] - self.rests[block.number]:
                return self.course.place(self.course.block_end(block.number))
        return self._reached(seconds, len(self.course.blocks))

    def _reached(self, seconds: Fraction, block: int) -> Place:
        work = max(Fraction(0), seconds - self.rests[block])
        return self.course.place_by_weight(work * 10)[0]

    def parts(self, until: Fraction) -> list[Part]:
        """Sets and rests in order; of an AMRAP every round that begins before ``until``."""
        found: list[Part] = []
        clock, block, index = Fraction(0), 1, 0
        while index < len(self.course.sets) or (self.course.tail and self._goes_on(index, clock, until)):
            course_set = self.course.set_at(index)
            for number in range(block + 1, course_set.block + 1):
                rest = self.rests[number] - self.rests[number - 1]
                if rest:
                    found.append(Part(clock, clock + rest, None))
                    clock += rest
            block = course_set.block
            work = Fraction(course_set.reps * course_set.line.weight, 10)
            found.append(Part(clock, clock + work, course_set))
            clock += work
            index += 1
        return found

    def _goes_on(self, index: int, clock: Fraction, until: Fraction) -> bool:
        """Whether another set is drawn: a round begun is drawn whole, and one at least."""
        into = index - len(self.course.sets)
        return into % len(self.course.tail) != 0 or into == 0 or clock < until


def expected(
    reference: Reference, ratios: list[Fraction], limit: Fraction
) -> tuple[int, Place] | None:
    """How far members should get who usually do so much reference work in a second.

    Returns
    -------
    finishing, halfway
        How many of them should finish, and the place of the one at half, the least far
        first; ``None`` for nobody.
    """
    if not ratios:
        return None
    ordered = sorted(ratios)
    total = reference.total
    finishing = sum(total is not None and ratio * limit >= total for ratio in ordered)
    middle = ordered[(len(ordered) + 1) // 2 - 1]
    return finishing, reference.reached(middle * limit)
