"""Groups of classes beside each other: figures with how far they can be believed.

Intervals are for a confidence of 95 %. The same people come again and again, so the results
of a group are fewer than they look; shares are counted for that (``share_of``), and means
are taken over people or over workouts, never over single results.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

from scipy.special import bdtr, ndtri, stdtrit

FEW = 5
"""Below so many people (or workouts) a figure is too few to say anything."""

TWO_SIDED = 0.975
Z = float(ndtri(TWO_SIDED))


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure, the interval it lies in, and from how many people or workouts.

    ``low`` and ``high`` are ``None`` where nothing can be said of them.
    """

    value: float
    low: float | None
    high: float | None
    count: int

    @property
    def is_few(self) -> bool:
        return self.count < FEW


@dataclass(frozen=True, slots=True)
class Share(Estimate):
    """A share from 0 to 1: ``hits`` of ``tries``, by ``count`` people."""

    hits: int
    tries: int


@dataclass(frozen=True, slots=True)
class Spread(Estimate):
    """A median, its interval, and the quartiles between which half of the figures lie."""

    lower: float
    upper: float


def wilson(share: float, tries: float) -> tuple[float, float]:
    """Wilson's interval of a share (Wilson 1927, J Am Stat Assoc 22:209).

    ``tries`` greater than 0; it need not be whole, see ``share_of``.
    """
    square = Z * Z / tries
    middle = (share + square / 2) / (1 + square)
    reach = Z / (1 + square) * sqrt(share * (1 - share) / tries + square / (4 * tries))
    return max(0.0, middle - reach), min(1.0, middle + reach)


def share_of(people: Mapping[int, tuple[int, int]]) -> Share | None:
    """A share over people who each had some tries, ``(hits, tries)``; ``None`` without any.

    Wilson's interval with as many tries as they are worth: what the same person does again
    is no new person, so the tries are divided by how much more the people differ than single
    tries would (the ratio estimator's variance beside the binomial one, never less than 1;
    Cochran 1977, Sampling techniques, from memory). Where everybody had one try, or where
    all did the same, it is Wilson's interval by the number of people.
    """
    rows = [(hits, tries) for hits, tries in people.values() if tries]
    if not rows:
        return None
    hits, tries = sum(row[0] for row in rows), sum(row[1] for row in rows)
    share = hits / tries
    worth = float(len(rows))
    if 0 < hits < tries:
        between = sum((own - share * times) ** 2 for own, times in rows)
        worth = tries / max(1.0, between / (tries * share * (1 - share)))
    low, high = wilson(share, worth)
    return Share(share, low, high, len(rows), hits, tries)


def mean_of(figures: Sequence[float]) -> Estimate | None:
    """A mean with Student's interval; ``None`` of nothing. One figure has no interval."""
    count = len(figures)
    if not count:
        return None
    mean = sum(figures) / count
    if count == 1:
        return Estimate(mean, None, None, 1)
    spread = sqrt(sum((figure - mean) ** 2 for figure in figures) / (count - 1))
    reach = float(stdtrit(count - 1, TWO_SIDED)) * spread / sqrt(count)
    return Estimate(mean, mean - reach, mean + reach, count)


def quantile(figures: Sequence[float], part: float) -> float:
    """Type 7 of Hyndman & Fan 1996, Am Stat 50(4):361, of one figure or more in order."""
    place = part * (len(figures) - 1)
    whole = int(place)
    after = figures[min(whole + 1, len(figures) - 1)]
    return figures[whole] + (place - whole) * (after - figures[whole])


def spread_of(figures: Sequence[float]) -> Spread | None:
    """Median and quartiles; the median's interval is between two of the figures themselves
    (the sign test turned round), which takes six of them at least."""
    if not figures:
        return None
    ordered, count = sorted(figures), len(figures)
    low = high = None
    below = _sign_test(count)
    if below >= 0:
        low, high = ordered[below], ordered[count - 1 - below]
    median, lower, upper = (quantile(ordered, part) for part in (0.5, 0.25, 0.75))
    return Spread(median, low, high, count, lower, upper)


def _sign_test(count: int) -> int:
    """How many figures may be left out at each end, for 95 %; −1 if none will do."""
    left_out = -1
    while left_out + 1 < count / 2 and float(bdtr(left_out + 1, count, 0.5)) <= 1 - TWO_SIDED:
        left_out += 1
    return left_out


def differ(own: Estimate | None, rest: Estimate | None) -> str:
    """How a figure stands to the rest's: ``higher`` or ``lower`` where the intervals don't
    meet, else ``none``; ``few`` where either is too few to say, ``alone`` without a rest."""
    if own is None or rest is None:
        return "alone"
    if own.is_few or rest.is_few:
        return "few"
    if own.low is None or own.high is None or rest.low is None or rest.high is None:
        return "few"
    if own.low > rest.high:
        return "higher"
    return "lower" if own.high < rest.low else "none"
