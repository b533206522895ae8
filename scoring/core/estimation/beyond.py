"""Places of finishers that tell them apart: how far they would be had the course gone on.

Who finishes early did more than the course asks for, and a forecast that all finish would
otherwise always be right. So a finish counts as the place that the same pace would have
reached by the cap on a course of the same kind of work: by the model's fade,
``total · (time left / time taken)^(1/γ)``, times without rests. Both ways are exact inverses
but for whole reps.
"""

from __future__ import annotations

from dataclasses import dataclass

MOST_TIMES = 20
"""Nobody is taken to get further than so many times the course: a finish in a second is a slip
of the finger, not a pace."""


@dataclass(frozen=True, slots=True)
class Finish:
    """The end of a course: raw reps of it, seconds of its rests, the cap, and γ.

    ``total`` is ``None`` for an endless course, on which nobody finishes.
    """

    total: int | None
    rests: float
    cap: float
    fade: float

    def reached(self, raw: int, seconds: float) -> int:
        """A mark on the scale: a place is itself; a finish in so many seconds lies beyond."""
        if self.total is None or raw < self.total or seconds >= self.cap:
            return raw
        left, taken = self.cap - self.rests, max(1.0, seconds - self.rests)
        times = min(MOST_TIMES, (left / taken) ** (1 / self.fade))
        return max(self.total, int(self.total * times + 1e-9))

    def seconds(self, reached: int) -> float | None:
        """The finishing time that lies there; ``None`` for a place before the finish."""
        if self.total is None or reached < self.total or not self.total:
            return None
        left = self.cap - self.rests
        return self.rests + left / (reached / self.total) ** self.fade
