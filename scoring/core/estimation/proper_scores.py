"""How good a forecast was, once it is known what happened.

A proper score is best, on average, for who forecasts what they believe: nobody gains by
sounding surer than they are. Gneiting & Raftery (2007), Strictly Proper Scoring Rules,
Prediction, and Estimation, Journal of the American Statistical Association 102:359-378.
Less is better in all of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr
from scipy.stats import beta, norm, t

from .ways import Floats


def crps(ensemble: ArrayLike, seen: ArrayLike, *, fair: bool = False) -> Floats:
    """Continuous ranked probability score of draws against what was seen, in its unit.

    The mean distance of the draws from it, less half the mean distance between two draws
    (their equation 20). A single draw scores its distance.

    Parameters
    ----------
    ensemble : (..., D)
        Draws, at least one; two for the fair version.
    seen : (...)
        What happened.
    fair
        Take two different draws for the second part, so that a small ensemble isn't
        punished for being small (Ferro 2014, Fair scores for ensemble forecasts, Quarterly
        Journal of the Royal Meteorological Society 140:1917-1923).

    Raises
    ------
    ValueError
        For too few draws.
    """
    draws = np.sort(np.asarray(ensemble, dtype=np.float64), axis=-1)
    count = draws.shape[-1]
    if count < (2 if fair else 1):
        raise ValueError("The fair score needs two draws, the usual one needs one.")
    away = np.abs(draws - np.asarray(seen, dtype=np.float64)[..., None]).mean(axis=-1)
    weight = 2 * np.arange(1, count + 1) - count - 1
    between = 2 * (draws * weight).sum(axis=-1)
    pairs = count * (count - 1) if fair else count * count
    return np.asarray(away - between / (2 * pairs))


def crps_normal(mean: ArrayLike, spread: ArrayLike, seen: ArrayLike) -> Floats:
    """The score of a normal forecast (their equation 21); ``spread`` more than 0."""
    width = np.asarray(spread, dtype=np.float64)
    if not np.all(width > 0):
        raise ValueError("A spread is more than 0.")
    z = (np.asarray(seen, dtype=np.float64) - np.asarray(mean, dtype=np.float64)) / width
    density = np.exp(-z * z / 2) / np.sqrt(2 * np.pi)
    return np.asarray(width * (z * (2 * ndtr(z) - 1) + 2 * density - 1 / np.sqrt(np.pi)))


def interval_score(low: ArrayLike, high: ArrayLike, share: float, seen: ArrayLike) -> Floats:
    """Width of an interval that should hold ``share`` of what happens, and a fine for what
    falls outside it (their equation 43, with α = 1 - share)."""
    if not 0 < share < 1:
        raise ValueError("An interval holds more than none and less than all.")
    below, above, at = (np.asarray(a, dtype=np.float64) for a in (low, high, seen))
    outside = np.clip(below - at, 0, None) + np.clip(at - above, 0, None)
    return np.asarray(above - below + 2 / (1 - share) * outside)


def pit(ensemble: ArrayLike, seen: ArrayLike) -> Floats:
    """The share of draws below what was seen, those equal to it counting half.

    Of honest forecasts these lie evenly between 0 and 1. Places are whole reps, so many draws
    may be equal to the mark: the middle of their step is taken, and nothing is drawn by lot.
    """
    draws = np.asarray(ensemble, dtype=np.float64)
    at = np.asarray(seen, dtype=np.float64)[..., None]
    return np.asarray((draws < at).mean(axis=-1) + (draws == at).mean(axis=-1) / 2)


@dataclass(frozen=True, slots=True)
class Coverage:
    """How often something fell inside: ``inside`` of ``count``, and the range in which its
    share in the long run lies with a chance of 80 %. ``groups`` is how many days, or whatever
    cases have in common, they come from."""

    inside: int
    count: int
    low: float
    high: float
    groups: int = 0

    @property
    def share(self) -> float | None:
        """The share inside; ``None`` of nothing."""
        return self.inside / self.count if self.count else None


def coverage(
    inside: NDArray[np.bool_] | list[bool], groups: Sequence[int] | None = None
) -> Coverage:
    """Count what fell inside.

    The range is Jeffreys' (Brown, Cai & DasGupta 2001, Interval Estimation for a Binomial
    Proportion, Statistical Science 16:101-133): a beta distribution with a half added to both
    counts, and its ends 0 and 1 where none or all fell inside.

    Parameters
    ----------
    groups
        What each has in common with others, as the class it is a result of; by default
        nothing. People of one class share its day, so twenty results of one class say little
        more than one. The counts are then shrunk to as many free ones as would leave the share
        as uncertain as the groups' own shares differ: the variance of a ratio over groups
        (Cochran 1977, Sampling Techniques, section 9A, from memory), never fewer than there
        are groups and never more than there are cases. How much they differ is itself known
        from few, so there are fewer by the square of the normal quantile over Student's (Korn
        and Graubard 1998, Survey Methodology 24:193, from memory). Where none or all fell
        inside, groups don't differ and each counts once.
    """
    flags = np.asarray(inside, dtype=bool)
    yes, count = int(flags.sum()), len(flags)
    if not count:
        return Coverage(0, 0, 0.0, 1.0)
    free, size = float(count), count
    if groups is not None:
        _, at = np.unique(np.asarray(groups), return_inverse=True)
        size = int(at.max()) + 1
        free = _free(flags, at, size)
    share = yes / count
    held = beta(free * share + 0.5, free * (1 - share) + 0.5)
    low = float(held.ppf(0.1)) if yes else 0.0
    high = float(held.ppf(0.9)) if yes < count else 1.0
    return Coverage(yes, count, low, high, size)


def _free(flags: NDArray[np.bool_], at: NDArray[np.int64], size: int) -> float:
    """How many cases free of each other would tell as much as these."""
    count, share = len(flags), float(flags.mean())
    if size < 2 or share in (0.0, 1.0):
        return float(size)
    apart = np.bincount(at, flags - share, minlength=size)
    variance = size / (size - 1) * float(apart @ apart) / count**2
    free = share * (1 - share) / variance if variance > 0 else float(count)
    few = float(norm.ppf(0.9) / t.ppf(0.9, size - 1))
    return max(float(size), min(free, count) * few**2)
