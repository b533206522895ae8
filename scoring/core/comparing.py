"""Comparing groups: shares, means, medians and paired changes, each with its interval.

Plain statistics on plain numbers. An interval says how far chance alone may have moved a
figure; with very few people there is none worth showing, and then there is none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import nan, sqrt
from statistics import fmean, stdev

from scipy import special

LEVEL = 0.95
FEW = 5
"""Below so many people a comparison is said to be from too few to tell."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure with its interval: ``low`` and ``high`` are ``None`` where ``n`` is too small
    for one. ``value`` is ``None`` without any data."""

    value: float | None
    low: float | None
    high: float | None
    n: int

    @property
    def is_from_few(self) -> bool:
        return self.n < FEW

    def excludes(self, value: float) -> bool:
        """Whether the interval is there and does not hold ``value``."""
        return self.low is not None and self.high is not None and not self.low <= value <= self.high


NOTHING = Estimate(None, None, None, 0)


@dataclass(frozen=True, slots=True)
class Spread:
    """Median and quartiles of ``n`` numbers."""

    low: float
    median: float
    high: float
    n: int


def wilson(p: float, total: float, level: float = LEVEL) -> tuple[float, float]:
    """Wilson's interval of a share ``p`` in 0…1 of ``total`` tries, which need not be whole."""
    z = float(special.ndtri((1 + level) / 2))
    middle = p + z * z / (2 * total)
    half = z * sqrt(p * (1 - p) / total + z * z / (4 * total * total))
    scale = 1 + z * z / total
    low = 0.0 if p == 0 else max(0.0, (middle - half) / scale)
    high = 1.0 if p == 1 else min(1.0, (middle + half) / scale)
    return low, high


def share(hits: int, total: int, level: float = LEVEL) -> Estimate:
    """A share with Wilson's score interval.

    Parameters
    ----------
    hits, total
        Counts, ``0 <= hits <= total``; a total of 0 gives no value.

    References
    ----------
    Wilson 1927, J. Am. Stat. Assoc. 22:209.
    """
    if not 0 <= hits <= total:
        raise ValueError(f"{hits} of {total} is no share.")
    if not total:
        return NOTHING
    p = hits / total
    low, high = wilson(p, total, level)
    return Estimate(p, low, high, total)


def mean(values: Sequence[float], level: float = LEVEL) -> Estimate:
    """A mean with Student's interval; none below two values."""
    n = len(values)
    if not n:
        return NOTHING
    value = fmean(values)
    if n < 2:
        return Estimate(value, None, None, n)
    half = float(special.stdtrit(n - 1, (1 + level) / 2)) * stdev(values) / sqrt(n)
    return Estimate(value, value - half, value + half, n)


def paired(before: Sequence[float], after: Sequence[float], level: float = LEVEL) -> Estimate:
    """The mean change of the same people, ``after - before``, with Student's interval.

    Raises
    ------
    ValueError
        When the two are not of one length.
    """
    if len(before) != len(after):
        raise ValueError("Paired figures come two by two.")
    return mean([b - a for a, b in zip(before, after, strict=True)], level)


def difference(one: Sequence[float], other: Sequence[float], level: float = LEVEL) -> Estimate:
    """``other`` less ``one`` of different people: Welch's interval, none below two each.

    References
    ----------
    Welch 1947, Biometrika 34:28.
    """
    n = min(len(one), len(other))
    if not n:
        return NOTHING
    value = fmean(other) - fmean(one)
    if n < 2:
        return Estimate(value, None, None, n)
    parts = [stdev(v) ** 2 / len(v) for v in (one, other)]
    if not sum(parts):
        return Estimate(value, value, value, n)
    freedom = sum(parts) ** 2 / sum(
        p * p / (len(v) - 1) for p, v in zip(parts, (one, other), strict=True)
    )
    half = float(special.stdtrit(freedom, (1 + level) / 2)) * sqrt(sum(parts))
    return Estimate(value, value - half, value + half, n)


def share_difference(
    one: tuple[int, int], other: tuple[int, int], level: float = LEVEL
) -> Estimate:
    """The share of ``other`` less that of ``one``, each ``(hits, total)``, with Newcombe's
    interval from the two Wilson intervals.

    References
    ----------
    Newcombe 1998, Stat. Med. 17:873, method 10.
    """
    first, second = share(*one, level), share(*other, level)
    if first.value is None or second.value is None:
        return NOTHING
    l1, u1, l2, u2 = (x or 0.0 for x in (first.low, first.high, second.low, second.high))
    value = second.value - first.value
    low = value - sqrt((second.value - l2) ** 2 + (u1 - first.value) ** 2)
    high = value + sqrt((u2 - second.value) ** 2 + (first.value - l1) ** 2)
    return Estimate(value, low, high, min(first.n, second.n))


def quantile(values: Sequence[float], p: float) -> float:
    """The quantile of ``p`` in 0…1, between neighbours in proportion; ``nan`` without data.

    Type 7 of Hyndman & Fan 1996, Am. Stat. 50:361: what numpy and spreadsheets use.
    """
    if not values:
        return nan
    ordered = sorted(values)
    position = p * (len(ordered) - 1)
    below = int(position)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (ordered[above] - ordered[below]) * (position - below)


def spread(values: Sequence[float]) -> Spread | None:
    """Median and quartiles, ``None`` without data."""
    if not values:
        return None
    low, middle, high = (quantile(values, p) for p in (0.25, 0.5, 0.75))
    return Spread(low, middle, high, len(values))


def median(values: Sequence[float], level: float = LEVEL) -> Estimate:
    """A median with the interval between two of the values that needs no assumption.

    The narrowest symmetric pair of order statistics that holds the true median in at least
    ``level`` of all samples (binomial, p = ½); none below six values at 95 %.
    """
    n = len(values)
    if not n:
        return NOTHING
    ordered = sorted(values)
    value = quantile(ordered, 0.5)
    rank = 0
    while rank < n // 2 and 2 * float(special.bdtr(rank, n, 0.5)) <= 1 - level:
        rank += 1
    if rank == 0:
        return Estimate(value, None, None, n)
    return Estimate(value, ordered[rank - 1], ordered[n - rank], n)
