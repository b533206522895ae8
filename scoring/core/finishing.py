"""How many finish by when, over runs that were stopped at different caps.

Kaplan & Meier 1958, J. Am. Stat. Assoc. 53:457: whoever a cap stops counts among those still
on the course until then, and after it tells nothing. With one cap for all it is the plain
share of those who finished.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from .comparing import Estimate, wilson

HALF = 0.5 + 1e-12
"""A half, with room for what sums of shares lose in their last digit."""


@dataclass(frozen=True, slots=True)
class End:
    """When somebody finished, or when the clock stopped them."""

    seconds: Fraction
    has_finished: bool


@dataclass(frozen=True, slots=True)
class Finishing:
    """The curve: at each of ``times`` somebody finished, and ``left`` is the share that had
    not by then, ``doubt`` Greenwood's sum for it.

    ``stopped`` are the times of those whom a cap stopped, in order.
    """

    times: tuple[Fraction, ...]
    left: tuple[float, ...]
    doubt: tuple[float, ...]
    stopped: tuple[Fraction, ...]
    people: int

    @property
    def finished(self) -> int:
        """How many finished."""
        return self.people - len(self.stopped)

    @property
    def known_until(self) -> Fraction | None:
        """After this nothing is known; ``None`` where the last on the course finished."""
        if not self.stopped or (self.times and self.times[-1] > self.stopped[-1]):
            return None
        return self.stopped[-1]

    @property
    def half(self) -> Fraction | None:
        """When half had finished; ``None`` where fewer did as far as is known."""
        for time, left in zip(self.times, self.left, strict=True):
            if left <= HALF:
                return time
        return None

    def by(self, seconds: Fraction) -> Estimate | None:
        """The share that has finished by then; ``None`` after all that is known.

        ``n`` are those who tell of it: they had finished, or were not yet stopped. The
        interval is Wilson's with as many people as Greenwood's variance is worth, so that
        without any cap before it is that of a plain share.
        """
        if self.known_until is not None and seconds > self.known_until:
            return None
        telling = self.people - sum(1 for stop in self.stopped if stop < seconds)
        index = bisect_right(self.times, seconds) - 1
        left = self.left[index] if index >= 0 else 1.0
        worth = float(telling)
        if 0 < left < 1 and self.doubt[index] > 0:
            worth = (1 - left) / (left * self.doubt[index])
        low, high = wilson(1 - left, worth)
        return Estimate(1 - left, low, high, telling)


def finishing(ends: Iterable[End]) -> Finishing | None:
    """The curve of some ends; ``None`` without any.

    Who finishes at the very second at which a cap stops others was still among them.
    """
    told = list(ends)
    if not told:
        return None
    finishes = Counter(end.seconds for end in told if end.has_finished)
    stopped = sorted(end.seconds for end in told if not end.has_finished)
    times, shares, doubts = [], [], []
    left, doubt, before, gone = 1.0, 0.0, 0, 0
    for time in sorted(finishes):
        while gone < len(stopped) and stopped[gone] < time:
            gone += 1
        there, now = len(told) - before - gone, finishes[time]
        left *= 1 - now / there
        if now < there:
            doubt += now / (there * (there - now))
        before += now
        times.append(time)
        shares.append(left)
        doubts.append(doubt)
    return Finishing(tuple(times), tuple(shares), tuple(doubts), tuple(stopped), len(told))
