"""The reference pace on a course: when it ends each block, and how far it gets by the cap.

Reference seconds are the catalogue's usual ones a rep (common practice, no source), rests
as long as they are written. So everything here is a plan to compare with, not a promise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from .course import Course, Place
from .crowd import at_share
from .prescription import BlockKind


class Reference:
    """The reference pace on a course whose marks are places; ``drawing.py`` has the other
    way, from places to seconds.

    Parameters
    ----------
    course
        Any course of ladders, rounds and a closing AMRAP.
    """

    def __init__(self, course: Course) -> None:
        self.course = Course(course.workout, weighted=True)
        self._rests = self._rests_before()

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

    def block_end(self, block: int) -> Fraction:
        """Seconds at which the reference pace ends a block, before any rest after it.

        Raises ``PlaceError`` for an AMRAP, which has no end.
        """
        index = self.course.place(self.course.block_end(block)).index
        return Fraction(self.course.weight_before(index), 10) + self._rests[block]

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
            if seconds < end + self._rests[block.number + 1] - self._rests[block.number]:
                return self.course.place(self.course.block_end(block.number))
        return self._reached(seconds, len(self.course.blocks))

    def _reached(self, seconds: Fraction, block: int) -> Place:
        work = max(Fraction(0), seconds - self._rests[block])
        return self.course.place_by_weight(work * 10)[0]


@dataclass(frozen=True, slots=True)
class Expected:
    """What a group should do: how many finish, and the one at half, the least far first:
    their place, and their time where it is the finish."""

    finishing: int
    place: Place
    seconds: Fraction | None


def expected(reference: Reference, ratios: Sequence[Fraction], limit: Fraction) -> Expected | None:
    """How far members should get who usually do so much reference work in a second of clock;
    ``None`` for nobody."""
    if not ratios:
        return None
    ordered = sorted(ratios)
    middle = at_share(ordered, Fraction(1, 2))
    total = reference.total
    if total is None:
        return Expected(0, reference.reached(middle * limit), None)
    finishes = middle * limit >= total
    return Expected(
        finishing=sum(ratio * limit >= total for ratio in ordered),
        place=reference.reached(middle * limit),
        seconds=total / middle if finishes else None,
    )
