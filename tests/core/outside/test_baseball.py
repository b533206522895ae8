"""How far levels are drawn to the middle, against James and Stein's baseball example."""

import numpy as np
import pytest
from scipy import optimize

from scoring.core.estimation.estimate import Spreads
from scoring.core.estimation.fit import fit
from scoring.core.estimation.problem import problem
from scoring.core.shrinkage import shrink
from tests.core.test_shrinkage import FIRST_45

from .data import LINEAR, figures
from .linear import solved, unlikely

Y = np.array(FIRST_45)
KNOWN = Y.mean() * (1 - Y.mean()) / 45


def spreads(level):
    noise = np.sqrt(KNOWN)
    return Spreads(noise=noise, noise_within=noise / 2, level=level, drift=1e-9, classes=1e-9)


def test_levels_are_drawn_as_published_but_for_degrees_of_freedom():
    """Efron & Morris 1977, Scientific American 236(5):119: eighteen players, noise known,
    .212 of each one's distance is believed: 1 - (k - 3) · noise / sum of squares.

    The restricted likelihood of the level's spread has k - 1 there: it estimates the spread
    without bias, James and Stein's estimator the share.
    """
    told = problem(LINEAR, figures(Y, member=np.arange(18)))
    got = optimize.minimize_scalar(
        lambda log: unlikely(told, spreads(np.exp(log))), bracket=(-5, -3), tol=1e-10
    )
    own = spreads(np.exp(got.x))
    believed = own.level**2 / (own.level**2 + KNOWN)
    squares = np.sum((Y - Y.mean()) ** 2)
    assert 1 - believed == pytest.approx(17 * KNOWN / squares, rel=1e-5)
    assert 1 - believed == pytest.approx(17 / 15 * (1 - 0.2124), abs=1e-4)
    assert shrink(FIRST_45, KNOWN).factor == pytest.approx(1 - 15 / 17 * (1 - believed), rel=1e-5)
    # Every level lies that share of its distance from the mean.
    _, _, at = solved(told, own)
    assert at.levels.mean == pytest.approx(believed * (Y - Y.mean()), abs=1e-9)


def test_the_fit_draws_members_of_one_result_by_noise_against_level():
    """The whole fit with its own spreads: share believed = level² / (level² + noise²)."""
    random = np.random.default_rng(2)
    logs = random.normal(0.1, 0.25, 30) + random.normal(0, 0.08, 30)
    rows = figures(logs, member=np.arange(30))
    got = fit(LINEAR, rows)
    assert got.convergence.converged
    from_all = got.spreads.fade * (got.cost[0] - np.log(600)) + got.effect[0]
    believed = got.spreads.level**2 / (got.spreads.level**2 + got.spreads.noise**2)
    assert got.levels.mean == pytest.approx(believed * (logs - from_all), abs=1e-9)
