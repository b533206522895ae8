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
from scoring.core.estimation.problem import problem
from scoring.core.estimation.residuals import residuals
from scoring.core.estimation.spreads import fade

GYM = Size(members=20, classes=8, each=12, movements=10)


@pytest.mark.parametrize("within", [0.005, 0.04, 0.3])
def test_the_slope_within_results(within):
    made = scene(GYM, 2, splits=0.7)
    told = problem(made.ways, made.rows)
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
    ours = fade(told, spreads, at_cost=made.cost, trust=np.ones(len(told)))
    assert ours == pytest.approx(expected, abs=1e-9)


def test_without_splits_it_stays_what_is_held():
    made = scene(GYM, 2, splits=0.0)
    told = problem(made.ways, made.rows)
    assert fade(told, Spreads(), at_cost=made.cost, trust=np.ones(len(told))) == FADE
