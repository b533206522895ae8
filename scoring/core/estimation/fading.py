"""γ: how time grows with work, from splits of one result against each other and nothing else.

A member's own splits share their level and their class, so they tell how the same person
slows down. Single marks at fixed caps never tell: γ would run to 0 and take all else with it.
Nor may they by a back door. Costs that later blocks have in common are hard to tell from
fading, so if γ followed costs that follow all marks, it would be drawn along with them. Here
it is found with costs of its own, which only splits and what was held before have a say in;
where splits can't tell fading from costs, γ stays what was held.

Where the clock stopped the last row, its place is what is random, and the density of the place
carries γ · exp(θ_stop) / W: left out, γ would come out too small, as any slope does whose
abscissa has errors. Of K rows' density, 1 - 1/K belongs to how they lie from their mean: with so
much of it, what is solved for is 0 on average at the truth.
"""

from __future__ import annotations

import numpy as np
from scipy import linalg, sparse

from .assumptions import FADE, FADE_SPREAD
from .estimate import Spreads
from .problem import Problem
from .residuals import averaging, residuals
from .ways import Floats

FADE_BOUNDS = (FADE - 3 * FADE_SPREAD, FADE + 3 * FADE_SPREAD)
"""γ beyond these says that splits are no splits."""

STEPS = 25
CLOSE = 1e-6


def fade(problem: Problem, spreads: Spreads, precision: Floats, trust: Floats) -> float:
    """γ of the highest posterior given splits alone; without splits what is held of it.

    ``precision`` (P, P) is of the prior of costs, ``trust`` (N,) how far each result is
    believed. Gauss and Newton's steps over costs and γ.
    """
    if not problem.has_splits:
        return FADE
    several = (problem.per_result > 1)[problem.of_row]
    mean = averaging(problem)
    apart = sparse.csr_array(sparse.eye_array(len(several), format="csr")[several])
    spread = sparse.csr_array(apart - sparse.csr_array(mean[problem.of_row[several]]))
    times = spread @ problem.log_seconds
    believed = trust[problem.of_row[several]]
    # Of the density of a place, shapes have all but the part that its result's mean has.
    stopped = np.where(problem.stop >= 0, 1 - 1 / problem.per_result[problem.of_row], 0.0)
    at = problem.stop >= 0
    stops = np.bincount(problem.stop[at], stopped[at], minlength=len(problem.ways))
    within = spreads.noise_within**2
    cost, gamma = problem.ways.base.copy(), FADE
    for _ in range(STEPS):
        told = residuals(problem, cost, gamma)
        work = spread @ told.log_work
        shares = sparse.csr_array(spread @ told.shares)
        left = believed * (times - gamma * work)
        weighted = sparse.diags_array(believed) @ shares
        by_cost = precision @ (cost - problem.ways.base) - gamma / within * (shares.T @ left)
        by_cost -= stops - told.shares.T @ stopped
        by_gamma = (gamma - FADE) / FADE_SPREAD**2 - float(work @ left) / within
        by_gamma -= stopped.sum() / gamma
        size = len(cost)
        bend = np.zeros((size + 1, size + 1))
        bend[:size, :size] = precision + gamma**2 / within * (shares.T @ weighted).toarray()
        bend[:size, size] = bend[size, :size] = gamma / within * (weighted.T @ work)
        bend[size, size] = (
            FADE_SPREAD**-2 + float(work @ (believed * work)) / within + stopped.sum() / gamma**2
        )
        step = linalg.solve(bend, np.append(by_cost, by_gamma), assume_a="pos")
        step *= min(1.0, 1 / max(float(np.abs(step).max()), 1e-12))
        cost, gamma = cost - step[:size], float(np.clip(gamma - step[size], *FADE_BOUNDS))
        if abs(step[size]) < CLOSE:
            break
    return gamma
