"""An estimate with ways added says of them what conditioning by hand says."""

from dataclasses import replace

import numpy as np
import pytest

from scoring.core.estimation.assumptions import COST_SPREAD, TIE_SPREAD
from scoring.core.estimation.estimate import Estimate, LevelPaths, prior
from scoring.core.estimation.extending import extended
from scoring.core.estimation.ways import Way, tied

SQUAT, LIGHT, LIGHTER = Way("squat", load="20"), Way("squat", load="12"), Way("squat", load="8")
ROCK, TUCK, PUSH = Way("rock"), Way("rock", "tuck rock"), Way("push-up")

KNOWN = tied({SQUAT: 2.0, ROCK: 1.5}, {TUCK: (ROCK, 0.75)})
DRAFT = tied(
    {SQUAT: 2.0, ROCK: 1.5, PUSH: 1.8},
    {LIGHT: (SQUAT, 0.8), LIGHTER: (LIGHT, 0.9), TUCK: (ROCK, 0.5)},
)


def learned(members=3, kept=3) -> Estimate:
    """An estimate that holds KNOWN otherwise than before, with members that lean on it."""
    rng = np.random.default_rng(5)
    half = rng.normal(size=(3, 3)) * 0.1
    shared = rng.normal(size=(members, 3)) * 0.001
    estimate = replace(
        prior(KNOWN),
        cost=np.log([1.2, 1.9, 2.4]),
        covariance=half @ half.T + 0.01 * np.eye(3),
        used=np.array([7, 4, 9]),
    )
    directions, spread = estimate.directions
    lean = (shared @ directions / spread)[:, :kept]
    none = np.zeros(0)
    start = np.zeros(members + 1, dtype=np.int64)
    levels = LevelPaths(start, none, none, none, none, none, np.zeros(0, dtype=np.int64), lean)
    return replace(estimate, levels=levels)


def by_hand(estimate: Estimate, draft) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The same by one block matrix: new log seconds = A·(old) + b + own parts, all at once."""
    known, order = estimate.ways, draft.ways
    new = [w for w in order if w not in known.positions]
    # Solve (I - T)·new = K·old + b + e, with T among the new and K onto the old.
    among, onto = np.zeros((len(new), len(new))), np.zeros((len(new), len(known)))
    shift, own = np.zeros(len(new)), np.zeros(len(new))
    for i, way in enumerate(new):
        at = draft.position(way)
        if draft.parent[at] < 0:
            shift[i], own[i] = draft.base[at], COST_SPREAD**2
            continue
        to = order[draft.parent[at]]
        shift[i], own[i] = draft.tie[at], TIE_SPREAD**2
        if to in new:
            among[i, new.index(to)] = 1
        else:
            onto[i, known.position(to)] = 1
    solve = np.linalg.inv(np.eye(len(new)) - among)
    whole = np.vstack([np.eye(len(known)), solve @ onto])
    names = [*known.ways, *new]
    mean = np.concatenate([estimate.cost, solve @ (onto @ estimate.cost + shift)])
    covariance = whole @ estimate.covariance @ whole.T
    covariance[len(known) :, len(known) :] += solve @ np.diag(own) @ solve.T
    directions, spread = estimate.directions
    kept = estimate.levels.lean.shape[1]
    shared = (estimate.levels.lean * spread[:kept]) @ directions[:, :kept].T @ whole.T
    at = [names.index(way) for way in order]
    return mean[at], covariance[np.ix_(at, at)], shared[:, at]


def test_new_ways_have_the_means_and_covariances_of_one_block_matrix():
    estimate = learned()
    got = extended(estimate, DRAFT)
    mean, covariance, shared = by_hand(estimate, DRAFT)
    assert got.ways.ways == DRAFT.ways
    np.testing.assert_allclose(got.cost, mean, rtol=0, atol=1e-14)
    np.testing.assert_allclose(got.covariance, covariance, rtol=0, atol=1e-14)
    directions, spread = got.directions
    kept = got.levels.lean.shape[1]
    assert kept == len(DRAFT)  # all directions were kept, so nothing of it is lost
    np.testing.assert_allclose(
        (got.levels.lean * spread) @ directions.T, shared, rtol=0, atol=1e-12
    )


def test_by_hand_a_load_of_a_known_movement_goes_along_with_it():
    """squat @ 12: log(1.2 ... ) of the known squat plus log 0.8; its variance plus 0.2²; and
    squat @ 8 hangs on it in turn: plus log 0.9 and 0.2² more."""
    estimate = learned()
    got = extended(estimate, DRAFT)
    squat, light, lighter = (got.ways.position(way) for way in (SQUAT, LIGHT, LIGHTER))
    assert got.cost[light] == pytest.approx(got.cost[squat] + np.log(0.8), abs=1e-14)
    variance = got.covariance[squat, squat]
    assert got.covariance[light, squat] == pytest.approx(variance, abs=1e-14)
    assert got.covariance[light, light] == pytest.approx(variance + 0.04, abs=1e-14)
    assert got.covariance[lighter, lighter] == pytest.approx(variance + 0.08, abs=1e-14)
    assert got.covariance[lighter, light] == pytest.approx(variance + 0.04, abs=1e-14)
    assert got.ways.parent[lighter] == light and got.ways.parent[light] == squat
    push = got.ways.position(PUSH)
    assert got.covariance[push, push] == pytest.approx(0.35**2)
    assert np.abs(got.covariance[push]).sum() == pytest.approx(0.35**2)
    assert got.used[push] == 0 and got.used[squat] == estimate.used[KNOWN.position(SQUAT)]


def test_what_the_estimate_holds_stays_whatever_the_draft_ties_it_to():
    estimate = learned()
    got = extended(estimate, DRAFT)
    for way in KNOWN.ways:
        was, now = KNOWN.position(way), got.ways.position(way)
        assert got.cost[now] == estimate.cost[was]
        assert got.ways.tie[now] == KNOWN.tie[was]  # 0.75 as fitted, not the draft's 0.5
        for other in KNOWN.ways:
            assert (
                got.covariance[now, got.ways.position(other)]
                == estimate.covariance[was, KNOWN.position(other)]
            )


def test_a_prior_extended_is_the_prior_of_both():
    got, want = extended(prior(KNOWN), DRAFT), prior(tied(
        {SQUAT: 2.0, ROCK: 1.5, PUSH: 1.8},
        {LIGHT: (SQUAT, 0.8), LIGHTER: (LIGHT, 0.9), TUCK: (ROCK, 0.75)},
    ))  # fmt: skip
    assert got.ways.ways == want.ways.ways
    np.testing.assert_allclose(got.cost, want.cost, atol=1e-14)
    np.testing.assert_allclose(got.covariance, want.covariance, atol=1e-14)
    np.testing.assert_array_equal(got.ways.parent, want.ways.parent)
    np.testing.assert_allclose(got.ways.base, want.ways.base, atol=1e-14)


def test_nothing_new_is_the_same_estimate():
    estimate = learned()
    assert extended(estimate, KNOWN) is estimate


def test_fewer_directions_are_kept_and_no_more_than_were_and_came():
    got = extended(learned(members=4, kept=1), DRAFT)
    assert got.levels.lean.shape == (4, 1 + 3)
    assert np.isfinite(got.levels.lean).all()
