"""Draws of what could happen: costs, the day, and each member's own pace.

Draws are spread evenly rather than left to luck: each random part takes the middles of as
many equal slices of its distribution as there are draws, in an order of its own. A few
hundred then say what thousands would. The order comes from what is asked, so the same
question always has the same answer, whatever the cap.
"""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import blake2b

import numpy as np
from scipy.special import ndtri

from .estimate import Estimate, principal
from .ways import Floats, Ints

DRAWS = 2000
"""As many draws a forecast takes."""


@dataclass(frozen=True, slots=True, eq=False)
class Draws:
    """What could happen to a group.

    Attributes
    ----------
    log_seconds : (V, D) floats
        Log seconds a unit of the ways asked for.
    slowness : (M, D) floats
        Of each member on that day: level, class effect and their own luck, in log time.
    """

    log_seconds: Floats
    slowness: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """Members' log slowness on a day: (M,) means, (M,) variances, (M, K) lean."""

    mean: Floats
    variance: Floats
    lean: Floats


def standing(estimate: Estimate, members: Ints, day: float) -> Standing:
    """What is held of members on a day, from their last result on.

    Parameters
    ----------
    members : (M,) ints
        Positions in the estimate's levels; -1 for somebody without results, of whom is held
        what is held of any member.
    day
        In the days of the estimate's results. Each day since the last one widens the level.
    """
    levels, spreads = estimate.levels, estimate.spreads
    count = len(members)
    mean = np.zeros(count)
    variance = np.full(count, spreads.level**2)
    lean = np.zeros((count, levels.lean.shape[1]))
    positions = np.clip(members, 0, None)
    if len(levels.start) > 1:
        first, after = levels.start[positions], levels.start[positions + 1]
        known = (members >= 0) & (after > first)
        last = after[known] - 1
        gone = np.clip(day - levels.day[last], 0, None)
        mean[known] = levels.mean[last]
        variance[known] = levels.variance[last] + spreads.drift**2 * gone
        lean[known] = levels.lean[members[known]]
    return Standing(mean, variance, lean)


def draw(
    estimate: Estimate,
    positions: Ints,
    members: Ints,
    day: float,
    draws: int = DRAWS,
    seed: int = 0,
) -> Draws:
    """Draw costs and members together: where a fit could not tell whether a movement is slow
    or a member is, both vary against each other.

    Parameters
    ----------
    positions : (V,) ints
        The ways asked for.
    members, day
        See ``standing``.
    draws
        At least one.
    """
    if draws < 1:
        raise ValueError("At least one draw is needed.")
    held = standing(estimate, members, day)
    spreads = estimate.spreads
    chance = np.random.default_rng(_seed(estimate, members, day, draws, seed))
    middles = ndtri((np.arange(draws) + 0.5) / draws)

    def even(rows: int) -> Floats:
        return chance.permuted(np.broadcast_to(middles, (rows, draws)), axis=1)

    scores = even(held.lean.shape[1])
    log_seconds = _costs(estimate, positions, scores, even(len(positions)))
    shared = held.lean @ scores + spreads.classes * even(1)
    left = held.variance - (held.lean**2).sum(axis=1)
    own = np.sqrt(np.clip(left, 0, None) + spreads.noise**2)
    slowness = even(len(members))
    slowness *= own[:, None]
    slowness += held.mean[:, None]
    slowness += shared
    return Draws(log_seconds, slowness)


def _costs(estimate: Estimate, positions: Ints, scores: Floats, others: Floats) -> Floats:
    """Log seconds of the ways asked for, (V, D): by the leading directions, which members
    lean on, and what is left beside them."""
    cost = estimate.cost[positions][:, None]
    covariance = estimate.covariance[np.ix_(positions, positions)]
    by_scores = np.zeros(cost.shape)
    if len(scores):
        directions, sizes = estimate.directions
        leading = directions[positions, : len(scores)] * sizes[: len(scores)]
        by_scores = leading @ scores
        covariance = covariance - leading @ leading.T
    axes, sizes = principal(covariance)
    # The symmetric root is the same whichever axes a processor picks where several are as long.
    return np.asarray(cost + by_scores + (axes * sizes) @ axes.T @ others)


def _seed(estimate: Estimate, members: Ints, day: float, draws: int, seed: int) -> int:
    """A number from what is asked, the same wherever and whenever it is asked: by what the
    estimate rests on, not by its figures, whose last digits hang on the processor."""
    told = blake2b(digest_size=8)
    counted = (estimate.used, estimate.levels.start, estimate.levels.day)
    for array in (*counted, members, np.array([day, draws, seed])):
        told.update(array.astype("<f8").tobytes())
    return int.from_bytes(told.digest(), "little")
