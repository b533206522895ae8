"""How large the random parts are: the spreads under which the results are likeliest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from scipy import linalg, optimize

from .assumptions import LEAST_NOISE
from .curvature import curvature, factored
from .estimate import Spreads
from .fading import fade
from .objective import Point, point
from .problem import Problem
from .ways import Floats

PRIORS = {
    "noise": (Spreads().noise, 0.5),
    "level": (Spreads().level, 0.5),
    "drift": (Spreads().drift, 0.7),
    "classes": (Spreads().classes, 0.4),
    "noise_within": (Spreads().noise_within, 0.5),
}
"""What is held of each before any result: its median and the spread of its logarithm."""

LARGE = 900
"""With more ways and classes than this, what they leave uncertain is small beside what
results tell, and integrating it out is not worth a factorisation a try."""

NEAR = 1.2
"""At most a factor of e to this from where a search starts, so that no try is absurd."""

STEP = 0.001
"""Of the logarithm of a spread, to see how what is open changes with it."""

WITHIN = (0.1, 0.95)
"""What splits of a result don't share of its noise, as a part of it, lies between these."""


def names_of(problem: Problem) -> tuple[str, ...]:
    """The spreads that a problem can tell of."""
    names = ("noise", "level", "drift", "classes")
    return (*names, "noise_within") if problem.has_splits else names


def likeliest(
    problem: Problem,
    before: Spreads,
    trust: Floats,
    cost: Floats,
    effect: Floats,
    precision: Floats,
    held: Mapping[str, tuple[float, float]] = PRIORS,
) -> Spreads:
    """Spreads of the highest posterior, near the given costs and effects.

    Levels are integrated out exactly, costs and effects by Laplace's approximation (the
    restricted likelihood, where all is linear) taken as linear near ``before``, so calling
    again until nothing moves ends at its summit. In very large problems only levels are.
    ``held`` is what is held of each before, as in ``PRIORS``.
    """
    names = names_of(problem)
    first = np.log([getattr(before, name) for name in names])
    low, high = first - NEAR, first + NEAR
    low[0] = max(low[0], np.log(LEAST_NOISE))  # results all alike would be believed unbounded
    if problem.has_splits:
        # Searched as a part of the noise, which it can't outgrow.
        part = np.clip(before.noise_within / before.noise, *WITHIN)
        first[-1] = np.log(part)
        low[-1], high[-1] = np.log(WITHIN)
    first = np.clip(first, low, high)

    def spreads_of(logs: Floats) -> Spreads:
        found = dict(zip(names, np.exp(logs).tolist(), strict=True))
        part = found["noise_within"] if problem.has_splits else 0.5
        return replace(before, **{**found, "noise_within": part * found["noise"]})

    def at(logs: Floats) -> tuple[Spreads, Point]:
        spreads = spreads_of(logs)
        return spreads, point(problem, spreads, trust, cost, effect, precision)

    def still_open(logs: Floats) -> float:
        return left_open(problem, *at(logs), precision)

    open_ = np.zeros(len(first))
    if len(problem.ways) + problem.classes <= LARGE:
        here = still_open(first)
        moved = first + STEP * np.eye(len(first))
        open_ = np.array([still_open(logs) - here for logs in moved]) / STEP

    def loss(logs: Floats) -> float:
        spreads, there = at(logs)
        found = unlikeliness(problem, spreads, there) + float(open_ @ (logs - first))
        for name in names:
            middle, width = held[name]
            found += 0.5 * (np.log(getattr(spreads, name) / middle) / width) ** 2
        return float(found)

    got = optimize.minimize(
        loss,
        first,
        method="L-BFGS-B",
        bounds=list(zip(low, high, strict=True)),
        options={"maxiter": 30, "ftol": 1e-10, "gtol": 1e-3},
    )
    found, _ = at(got.x if got.fun <= loss(first) else first)
    return replace(found, fade=fade(problem, found, precision, trust))


def unlikeliness(problem: Problem, spreads: Spreads, at: Point) -> float:
    """Minus the log likelihood of spreads with costs and effects as they are, levels
    integrated out, but for what depends on no spread."""
    found = at.loss + problem.classes * np.log(spreads.classes)
    if problem.has_splits:
        found += (len(problem.of_row) - len(problem)) * np.log(spreads.noise_within)
    return float(found)


def left_open(problem: Problem, spreads: Spreads, at: Point, precision: Floats) -> float:
    """What costs and effects left open add to it: half the log determinant, less the step to go."""
    factor = factored(curvature(problem, spreads, at, precision))
    if factor is None:
        factor = factored(curvature(problem, spreads, at, precision, exact=False))
    if factor is None:
        return 0.0
    step = linalg.solve_triangular(factor, at.slope, lower=True, check_finite=False)
    return float(np.sum(np.log(np.diag(factor))) - 0.5 * step @ step)
