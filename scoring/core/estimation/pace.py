"""The typical member on a course: when each set ends, and how long it takes.

The typical member has the gym's middle level, an ordinary day and no luck either way; the
costs are those learned. What they do is the course's own scale, and the pace line of a clock.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from ..course import CourseSet
from .assumptions import REFERENCE_SECONDS
from .estimate import Estimate
from .forecast import Field
from .track import Track

MOST_PASSINGS = 600
"""So many sets of a pace line at most."""


@dataclass(frozen=True, slots=True)
class Passing:
    """When the typical member ends a set: its number on the course, and seconds of clock."""

    index: int
    seconds: float


class Pace:
    """The typical member on a track.

    Raises
    ------
    ValueError
        For a way that the estimate doesn't know.
    """

    def __init__(self, estimate: Estimate, track: Track) -> None:
        seconds = np.exp(estimate.cost[track.positions(estimate.ways)])[:, None]
        self.track = track
        self._fade = estimate.spreads.fade
        self._finite = np.cumsum(track.sets.work(seconds)[:, 0])
        self._tail = np.cumsum(track.tail.work(seconds)[:, 0])
        self._rests = track.rests_before()
        # one draw is the middle of everything: of nobody known, the typical member
        one = np.zeros(1, dtype=np.int64)
        self._field = Field(estimate, [track], one, one - 1, 0.0, draws=1)

    def _work(self, index: int) -> float:
        """Work at the end of a set, of any round of the AMRAP too; 0 before the first."""
        if index < 0:
            return 0.0
        if index < len(self._finite):
            return float(self._finite[index])
        before = float(self._finite[-1]) if len(self._finite) else 0.0
        rounds, at = divmod(index - len(self._finite), len(self._tail))
        return before + rounds * float(self._tail[-1]) + float(self._tail[at])

    def _block(self, index: int) -> int:
        if index < len(self._finite):
            return int(self.track.sets.block[index])
        return int(self.track.tail.block[0])

    def _taken(self, work: float) -> float:
        """Seconds that so much work takes, without rests."""
        return float(REFERENCE_SECONDS * (work / REFERENCE_SECONDS) ** self._fade)

    def end(self, index: int) -> float:
        """The clock at a set's end, rests included."""
        return self._taken(self._work(index)) + float(self._rests[self._block(index) - 1])

    def set_seconds(self, index: int) -> float:
        """How long a set takes, without a rest before it."""
        return self._taken(self._work(index)) - self._taken(self._work(index - 1))

    @property
    def lengths(self) -> Callable[[CourseSet], Fraction]:
        """The same to a hundredth, for a drawing."""
        return lambda course_set: Fraction(
            max(1, round(100 * self.set_seconds(course_set.index))), 100
        )

    @property
    def total(self) -> float | None:
        """The clock at the end of the whole course; ``None`` of an endless one."""
        return None if self.track.is_endless else self.end(len(self._finite) - 1)

    def reached(self, cap: float) -> int:
        """Raw reps done by the cap."""
        return int(self._field.places(cap)[0, 0])

    def line(self) -> tuple[Passing, ...]:
        """The clock at the end of each set: the finite part whole, whatever the cap, and the
        AMRAP up to it."""
        line = [Passing(i, self.end(i)) for i in range(min(MOST_PASSINGS, len(self._finite)))]
        index = len(self._finite)
        while len(self._tail) and len(line) < MOST_PASSINGS:
            at = self.end(index)
            if at > self.track.limit:
                break
            line.append(Passing(index, at))
            index += 1
        return tuple(line)
