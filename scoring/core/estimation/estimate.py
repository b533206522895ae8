"""What a fit gives: figures with their uncertainty, ready to be stored and read."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .assumptions import (
    CLASS_SPREAD,
    DRIFT_PER_DAY,
    FADE,
    LEVEL_SPREAD,
    NOISE,
)
from .ways import Floats, Ints, Ways


@dataclass(frozen=True, slots=True)
class Spreads:
    """Standard deviations of the model's random parts, in log units.

    ``noise`` is of one result; ``noise_within`` the part of it that splits of one result
    don't share; ``level`` between members; ``drift`` of a level in one day, growing with the
    square root of days; ``classes`` between classes. ``fade`` is γ.
    """

    noise: float = NOISE
    noise_within: float = NOISE / 2
    level: float = LEVEL_SPREAD
    drift: float = DRIFT_PER_DAY
    classes: float = CLASS_SPREAD
    fade: float = FADE


@dataclass(frozen=True, slots=True)
class Convergence:
    """Whether the fit came to rest: ``gradient`` is what is left, the greatest step still to
    take in posterior standard deviations; ``converged`` where it is under the bound."""

    converged: bool
    iterations: int
    gradient: float


@dataclass(frozen=True, slots=True, eq=False)
class LevelPaths:
    """Log slowness u of members at the days of their results: smoothed means and spreads.

    A level is ``100 · exp(-u)``, so less is faster.

    Attributes
    ----------
    start : (M + 1,) ints
        Member i's states are ``start[i]:start[i + 1]``; none for a member without results.
    day, mean, variance : (S,) floats
        One state a day with a result, days rising within a member.
    gain : (S,) floats
        The smoother's gain from a state to the next one of the same member, 0 at the last:
        were costs and classes known, the covariance of two states would be the later one's
        variance times the gains between.
    with_last : (S,) floats
        Covariance of a state with the last one of the same member, which tells what is known
        of a change until then.
    results : (S,) ints
        Results on that day.
    lean : (M, K) floats
        Covariance of a member's last state with the leading directions of the ways' log
        seconds, in their standard deviations (``Estimate.directions``).
    """

    start: Ints
    day: Floats
    mean: Floats
    variance: Floats
    gain: Floats
    with_last: Floats
    results: Ints
    lean: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Estimate:
    """All that was learned.

    Attributes
    ----------
    ways : Ways
        What it was about, and what was held before.
    cost : (P,) floats
        Log seconds a rep of each way.
    covariance : (P, P) floats
        Of ``cost``.
    used : (P,) ints
        How many results have a way in them.
    spreads : Spreads
    levels : LevelPaths
    effect, effect_variance : (C,) floats
        What was common to a class, in log time: more is slower.
    expected : (N,) floats
        For each result, how many standard deviations its log time lies above what the other
        figures say of it (below 0: faster); ``nan`` for one that tells nothing, no rep done.
    convergence : Convergence
    """

    ways: Ways
    cost: Floats
    covariance: Floats
    used: Ints
    spreads: Spreads
    levels: LevelPaths
    effect: Floats
    effect_variance: Floats
    expected: Floats
    convergence: Convergence

    @property
    def directions(self) -> tuple[Floats, Floats]:
        """Orthonormal directions (P, P) of the covariance and their standard deviations (P,),
        the widest first; the sign of each is fixed, so that the same figures give the same."""
        return principal(self.covariance)


def principal(covariance: Floats) -> tuple[Floats, Floats]:
    """Directions and standard deviations of a covariance, the widest first."""
    if not len(covariance):
        return np.zeros((0, 0)), np.zeros(0)
    values, vectors = np.linalg.eigh(covariance)
    order = np.argsort(-values, kind="stable")
    vectors = vectors[:, order]
    largest = vectors[np.argmax(np.abs(vectors), axis=0), np.arange(len(values))]
    return vectors * np.where(largest < 0, -1.0, 1.0), np.sqrt(np.clip(values[order], 0, None))


def prior(ways: Ways) -> Estimate:
    """What is held of a gym without a single result: the catalogue and the coach's credits."""
    size = len(ways)
    covariance = np.zeros((size, size))
    if size:
        covariance[:] = np.linalg.inv(ways.prior_precision())
    empty, none = np.zeros(0), np.zeros(0, dtype=np.int64)
    return Estimate(
        ways=ways,
        cost=ways.base.copy(),
        covariance=covariance,
        used=np.zeros(size, dtype=np.int64),
        spreads=Spreads(),
        levels=LevelPaths(
            np.zeros(1, dtype=np.int64), empty, empty, empty, empty, empty, none, np.zeros((0, 0))
        ),
        effect=empty,
        effect_variance=empty,
        expected=empty,
        convergence=Convergence(True, 0, 0.0),
    )
