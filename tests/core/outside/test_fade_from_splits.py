"""γ from splits, against least squares with a level of each result's own.

Analysis of covariance by statsmodels: log time on log work, every result with its own
intercept. Ours draws that slope towards what is held of it by how sure each is.
"""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from bench.estimator_scene import Size, scene
from scoring.core.estimation.assumptions import FADE, FADE_SPREAD
from scoring.core.estimation.estimate import Spreads
from scoring.core.estimation.fading import FADE_BOUNDS, fade
from scoring.core.estimation.problem import problem
from scoring.core.estimation.residuals import residuals

GYM = Size(members=20, classes=8, each=12, movements=10)


@pytest.mark.parametrize("within", [0.005, 0.04, 0.3])
def test_the_slope_within_results(within):
    # Costs pinned to the truth, and times throughout: a straight line in γ.
    made = scene(GYM, 2, splits=0.7)
    times = replace(made.rows, stop=np.full_like(made.rows.stop, -1))
    told = problem(replace(made.ways, base=made.cost), times)
    pinned = 1e12 * np.eye(len(made.ways))
    assert told.has_splits
    frame = pd.DataFrame(
        {
            "time": told.log_seconds,
            "work": residuals(told, made.cost, 1.0).log_work,
            "result": told.of_row,
        }
    )
    got = smf.ols("time ~ work + C(result)", frame).fit()
    slope, spread = got.params["work"], got.bse["work"] * within / np.sqrt(got.scale)
    weights = np.array([spread**-2, FADE_SPREAD**-2])
    expected = weights @ [slope, FADE] / weights.sum()
    spreads = replace(Spreads(), noise=2 * within, noise_within=within)
    bounded = np.clip(expected, *FADE_BOUNDS)
    assert fade(told, spreads, pinned, np.ones(len(told))) == pytest.approx(bounded, abs=1e-6)


def test_places_at_the_cap_lead_it_nowhere():
    """With costs of its own and the clock's share of the density it is right on average."""
    found = []
    for seed in range(8):
        made = scene(Size(members=60, classes=36, each=24, movements=24), seed, splits=0.5)
        told = problem(made.ways, made.rows)
        spreads = Spreads(noise_within=made.truth["noise_within"])
        precision = made.ways.prior_precision()
        found.append(fade(told, spreads, precision, np.ones(len(told))))
    assert np.mean(found) == pytest.approx(FADE, abs=0.006)


def test_one_split_that_slipped_moves_it_little():
    made = scene(GYM, 3, splits=0.7)
    told = problem(made.ways, made.rows)
    precision = made.ways.prior_precision()
    trust = np.ones(len(told))
    several = int(np.flatnonzero(told.per_result > 1)[0])
    wrong = told.log_seconds.copy()
    wrong[told.row_start[several]] -= 1.5
    slipped = replace(told, log_seconds=wrong)
    trust[several] = 0.05
    fair = fade(told, Spreads(), precision, np.ones(len(told)))
    assert fade(slipped, Spreads(), precision, trust) == pytest.approx(fair, abs=0.02)


def test_without_splits_it_stays_what_is_held():
    made = scene(GYM, 2, splits=0.0)
    told = problem(made.ways, made.rows)
    assert fade(told, Spreads(), made.ways.prior_precision(), np.ones(len(told))) == FADE
