"""Random walks seen through noise: a Kalman filter and smoother for many at once.

The local level model (Durbin & Koopman 2012, Time Series Analysis by State Space Methods,
chapter 2, from memory): x(0) ~ N(0, start), x(t + d) = x(t) + N(0, drift · d),
y = x + N(0, noise). One walk a member; all members take the k-th step together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .ways import Floats, Ints


@dataclass(frozen=True, slots=True, eq=False)
class Walks:
    """Which states belong to which walk, and how much time lies between.

    Attributes
    ----------
    start : (M + 1,) ints
        Walk i's states are ``start[i]:start[i + 1]``.
    elapsed : (S,) floats
        Time since the state before in the same walk, at least 0; 0 at the first.
    """

    start: Ints
    elapsed: Floats

    def steps(self) -> list[Ints]:
        """The states of all first steps, of all second ones, and so on."""
        lengths = np.diff(self.start)
        order = np.argsort(-lengths, kind="stable")
        ordered, first = lengths[order], self.start[:-1][order]
        longest = int(lengths.max()) if len(lengths) else 0
        counts = np.searchsorted(-ordered, -np.arange(longest), side="left")
        return [first[:count] + step for step, count in enumerate(counts)]


@dataclass(frozen=True, slots=True, eq=False)
class Smoothed:
    """States given all observations of their walk.

    ``gain`` leads from a state to the next of the same walk, 0 at the last: the covariance of
    two states is the later one's variance times the gains between. ``log_likelihood`` is of
    all observations, ``filtered`` and ``filtered_variance`` what was known at the time.
    """

    mean: Floats
    variance: Floats
    gain: Floats
    filtered: Floats
    filtered_variance: Floats
    log_likelihood: float


def smooth(
    walks: Walks, observed: Floats, noise: Floats, *, start: float, drift: float
) -> Smoothed:
    """Filter forwards, then smooth backwards (Rauch, Tung & Striebel).

    Parameters
    ----------
    observed : (S,) floats
        One observation a state; what stands under an infinite ``noise`` is not looked at.
    noise : (S,) floats
        Variance of each observation, more than 0; infinite where there is none.
    start
        Variance of the first state about 0; more than 0.
    drift
        Variance that a walk gains in a unit of time, at least 0.
    """
    size = len(observed)
    predicted_variance = np.empty(size)
    mean, variance = np.empty(size), np.empty(size)
    log_likelihood = 0.0
    steps = walks.steps()
    for number, at in enumerate(steps):
        if number == 0:
            before, spread = np.zeros(len(at)), np.full(len(at), start)
        else:
            before = mean[at - 1]
            spread = variance[at - 1] + drift * walks.elapsed[at]
        told = np.isfinite(noise[at])
        total = np.where(told, spread + np.where(told, noise[at], 1.0), np.inf)
        surprise = np.where(told, observed[at] - before, 0.0)
        weight = spread / total
        mean[at] = before + weight * surprise
        variance[at] = spread * (1 - weight)
        predicted_variance[at] = spread
        log_likelihood -= 0.5 * float(
            np.sum(np.log(2 * np.pi * total[told]) + surprise[told] ** 2 / total[told])
        )
    filtered, filtered_variance = mean.copy(), variance.copy()
    gain = np.zeros(size)
    for after in reversed(steps[1:]):
        at = after - 1
        gain[at] = filtered_variance[at] / predicted_variance[after]
        mean[at] = filtered[at] + gain[at] * (mean[after] - filtered[at])
        variance[at] = filtered_variance[at] + gain[at] ** 2 * (
            variance[after] - predicted_variance[after]
        )
    return Smoothed(mean, variance, gain, filtered, filtered_variance, log_likelihood)
