"""The reference pace on a course: when it ends each block, and how far it gets by the cap.

Reference seconds are the catalogue's usual ones a rep (common practice, no source), rests
as long as they are written. So everything here is a plan to compare with, not a promise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, pairwise

from .course import Course, Place
from .crowd import at_share

SAME = Fraction(1)
"""The speed at which a rep takes its reference seconds."""


class Reference:
    """The reference pace on a course whose marks are places; ``drawing.py`` has the other
    way, from places to seconds.

    A ``speed`` is somebody's against it, more than 0: at a half a rep takes twice as long,
    while a rest is as long at any speed.

    Parameters
    ----------
    course
        Any course of ladders, rounds and a closing AMRAP.
    """

    def __init__(self, course: Course) -> None:
        self.course = course if course.weighted else Course(course.workout, weighted=True)
        self._rests = list(accumulate(block.rest for block in self.course.blocks))

    def block_end(self, block: int, speed: Fraction = SAME) -> Fraction:
        """Seconds on the clock at which a block ends, before any rest after it.

        Raises ``PlaceError`` for an AMRAP, which has no end.
        """
        index = self.course.place(self.course.block_end(block)).index
        work = Fraction(self.course.weight_before(index), 10)
        return work / speed + self._rests[block - 1]

    def total(self, speed: Fraction = SAME) -> Fraction | None:
        """Seconds of the whole course; ``None`` when it is endless."""
        if self.course.total is None:
            return None
        return self.block_end(len(self.course.blocks), speed)

    def reached(self, clock: Fraction, speed: Fraction = SAME) -> Place:
        """The last whole rep done by then, as a place."""
        total = self.total(speed)
        if total is not None and clock >= total:
            return Place(len(self.course.sets), 0)
        for block, after in pairwise(self.course.blocks):
            end = self.block_end(block.number, speed)
            if clock < end:
                return self._reached(clock, block.number, speed)
            if clock < end + after.rest:
                return self.course.place(self.course.block_end(block.number))
        return self._reached(clock, len(self.course.blocks), speed)

    def _reached(self, clock: Fraction, block: int, speed: Fraction) -> Place:
        work = max(Fraction(0), clock - self._rests[block - 1]) * speed
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
    totals = [reference.total(ratio) for ratio in ordered]
    seconds = reference.total(middle)
    return Expected(
        finishing=sum(total is not None and total <= limit for total in totals),
        place=reference.reached(limit, middle),
        seconds=seconds if seconds is not None and seconds <= limit else None,
    )
