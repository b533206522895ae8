"""The model where it is linear: figures for log times, one way, spreads looked for freely."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scoring.core.estimation.assumptions import REFERENCE_SECONDS
from scoring.core.estimation.curvature import curvature
from scoring.core.estimation.estimate import Spreads
from scoring.core.estimation.objective import Point, point
from scoring.core.estimation.problem import Problem
from scoring.core.estimation.spreads import left_open, likeliest, unlikeliness

from .data import UNHELD

FREE = 1e3
"""A log spread so wide that nothing is held."""

NAMES = ("noise", "level", "drift", "classes")


def solved(problem: Problem, spreads: Spreads) -> tuple[np.ndarray, np.ndarray, Point]:
    """Cost, effects and the model there: all is linear, so one step from anywhere is exact."""
    trust = np.ones(len(problem))
    cost, effect = problem.ways.base.copy(), np.zeros(problem.classes)
    at = point(problem, spreads, trust, cost, effect, UNHELD)
    step = np.linalg.solve(curvature(problem, spreads, at, UNHELD), at.slope)
    cost, effect = cost - step[:1], effect - step[1:]
    return cost, effect, point(problem, spreads, trust, cost, effect, UNHELD)


def mean_of(cost: np.ndarray, spreads: Spreads) -> float:
    return float(spreads.fade * (cost[0] - np.log(REFERENCE_SECONDS)))


def unlikely(problem: Problem, spreads: Spreads) -> float:
    """Minus the restricted log likelihood, but for a constant."""
    _, _, at = solved(problem, spreads)
    return unlikeliness(problem, spreads, at) + left_open(problem, spreads, at, UNHELD)


def likeliest_of(problem: Problem, start: Spreads, *, absent: tuple[str, ...] = ()) -> Spreads:
    """The spreads of the highest restricted likelihood; those ``absent`` stay all but 0."""
    spreads = replace(start, **dict.fromkeys(absent, 1e-7))
    held = {name: (getattr(spreads, name), 1e-3 if name in absent else FREE) for name in NAMES}
    for _ in range(6):
        cost, effect, _ = solved(problem, spreads)
        spreads = likeliest(
            problem, spreads, np.ones(len(problem)), cost, effect, UNHELD, held=held
        )
    return spreads
