"""How far each result lies from what all others say of it, and how far it is believed."""

from __future__ import annotations

import numpy as np

from .assumptions import IMPOSSIBLE
from .objective import Point
from .problem import Problem
from .residuals import Residuals
from .ways import Floats


def own_surprise(whole: Problem, at: Point, ordinary: Floats | None = None) -> Floats:
    """(N,) how many standard deviations each result lies from what its member's others say.

    ``ordinary`` are the variances of results that are fully believed, by default those in
    use: a doubtful result is measured with the noise of any other.
    """
    spread = at.levels.variance[whole.state]
    informed = np.clip(1 / at.noise - spread / at.noise**2, 1e-12, None)
    apart = at.left / informed
    total = 1 / informed
    if ordinary is not None:
        total = total - at.noise + ordinary
    return apart / np.sqrt(total)


def split_surprise(whole: Problem, told: Residuals, within: float) -> Floats:
    """(N,) how many standard deviations the farthest of a result's rows lies from their mean;
    0 for a result of one row. ``within`` is the spread of what they don't share."""
    found = np.zeros(len(whole))
    np.maximum.at(found, whole.of_row, np.abs(told.shape))
    free = np.sqrt(np.maximum(1 - 1 / whole.per_result, 0.5))
    return found / (within * free)


def trusting(surprise: Floats) -> Floats:
    """(N,) how far to believe each result: 1, and less for what is all but impossible.

    Huber's weights at ``IMPOSSIBLE`` standard deviations: one wrong mark pulls no more than
    a mark just possible does (Huber 1964, Ann. Math. Statist. 35:73, from memory).
    """
    return np.minimum(1.0, IMPOSSIBLE / np.maximum(np.abs(surprise), 1e-12))
