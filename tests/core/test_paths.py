"""What states of one member have in common, uncertain costs and classes included."""

import numpy as np
import pytest
from scipy import sparse

from bench.estimator_scene import SMALL, scene
from scoring.core.estimation.fit import fit
from scoring.core.estimation.forgetting import without
from scoring.core.estimation.level_reading import levels_of
from scoring.core.estimation.paths import _nearly_quadratic, _quadratic


def moves_of(random, members):
    dense = random.normal(size=(len(members), 30)) * (random.uniform(size=(len(members), 30)) < 0.3)
    return sparse.csr_array(dense), dense


@pytest.mark.parametrize("directions", [30, 0])
def test_a_large_covariance_is_taken_apart_into_the_same_figures(directions):
    """All directions kept and no diagonal left, or a diagonal alone: nothing is approximate."""
    random = np.random.default_rng(4)
    members = np.array([0, 0, 0, 1, 1, 1, 1, 2, 3, 3])
    moves, dense = moves_of(random, members)
    square = random.normal(size=(30, 30))
    covariance = square @ square.T if directions else np.diag(random.uniform(size=30))
    values, vectors = np.linalg.eigh(covariance)
    nearly = (
        (vectors * np.sqrt(values), np.zeros(30))
        if directions
        else (np.zeros((30, 1)), np.diag(covariance))
    )
    last = np.array([2, 2, 2, 6, 6, 6, 6, 7, 9, 9])
    whole = dense @ covariance @ dense.T
    wanted = np.diag(whole), whole[np.arange(10), last]
    for found in (
        _quadratic(moves, covariance, members),
        _nearly_quadratic(moves, nearly, members),
    ):
        assert np.allclose(found[0], wanted[0]) and np.allclose(found[1], wanted[1])


@pytest.fixture(scope="module")
def estimate():
    drawn = scene(SMALL, 3)
    return fit(drawn.ways, drawn.rows)


def test_the_last_state_has_all_of_itself_in_common_with_itself(estimate):
    levels = estimate.levels
    last = levels.start[1:] - 1
    assert np.allclose(levels.with_last[last], levels.variance[last])
    # No more than two such variances can have in common.
    of = np.repeat(last, np.diff(levels.start))
    most = np.sqrt(levels.variance * levels.variance[of])
    assert np.all(levels.with_last <= most * (1 + 1e-9)) and np.all(levels.with_last > 0)


def test_who_is_forgotten_leaves_the_others_as_they_were(estimate):
    left = without(estimate, [0, 5], [])
    for member in (1, 6, SMALL.members - 1):
        one, two = (levels_of(e.levels, e.spreads, member) for e in (estimate, left))
        assert (one.days, one.with_last, one.gains) == (
            two.days, two.with_last, two.gains,
        )  # fmt: skip
    assert levels_of(left.levels, left.spreads, 5).days == ()
