"""The fit: what little or odd input gives, what one wrong mark does, and that truth is found."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import sparse

from bench.estimator_scene import SMALL, scene
from scoring.core.estimation.assumptions import CLASS_SPREAD, COST_SPREAD, TIE_SPREAD
from scoring.core.estimation.estimate import Spreads, prior
from scoring.core.estimation.fading import FADE_BOUNDS
from scoring.core.estimation.fit import fit
from scoring.core.estimation.packing import packed, unpacked
from scoring.core.estimation.rows import Rows
from scoring.core.estimation.ways import Way, tied

SQUAT, ROCK, TUCK, IDLE = Way("squat"), Way("rock"), Way("rock", "tuck"), Way("rock", "idle")
WAYS = tied({SQUAT: 2.0, ROCK: 3.0}, {TUCK: (ROCK, 0.8), IDLE: (ROCK, 0.5)})


def rows_of(*told, members=None, classes=None):
    """Rows of (member, class, day, seconds, stop or None, {way: count}), in order."""
    counts = np.zeros((len(told), len(WAYS)))
    for number, each in enumerate(told):
        for way, count in each[5].items():
            counts[number, WAYS.position(way)] = count
    member = np.array([each[0] for each in told], dtype=np.int64)
    class_ = np.array([each[1] for each in told], dtype=np.int64)
    return Rows(
        members=members or int(member.max(initial=-1)) + 1,
        classes=classes or int(class_.max(initial=-1)) + 1,
        member=member,
        class_=class_,
        day=np.array([each[2] for each in told], dtype=float),
        result=np.arange(len(told)),
        seconds=np.array([each[3] for each in told], dtype=float),
        stop=np.array([-1 if e[4] is None else WAYS.position(e[4]) for e in told], dtype=np.int64),
        counts=sparse.csr_array(counts),
    )


def spread_of_worth(estimate, way):
    """Median of log worth and its standard deviation, against the movement."""
    one, other = WAYS.position(way), WAYS.position(ROCK)
    spread = estimate.covariance
    variance = spread[one, one] + spread[other, other] - 2 * spread[one, other]
    return estimate.cost[one] - estimate.cost[other], np.sqrt(variance)


def test_without_a_result_everything_is_as_it_was_held():
    got = fit(WAYS, rows_of(members=2, classes=1))
    held = prior(WAYS)
    assert got.cost == pytest.approx(held.cost)
    assert got.covariance == pytest.approx(held.covariance)
    assert got.spreads == Spreads()
    assert list(got.levels.start) == [0, 0, 0]
    assert got.effect == pytest.approx([0]) and got.effect_variance == pytest.approx(
        [CLASS_SPREAD**2]
    )
    assert got.convergence.converged


def test_a_gym_without_ways_or_classes_is_no_error():
    none = np.zeros(0, dtype=np.int64)
    rows = Rows(0, 0, none, none, np.zeros(0), none, np.zeros(0), none, sparse.csr_array((0, 0)))
    got = fit(tied({}, {}), rows)
    assert len(got.cost) == 0 and got.convergence.converged


def test_the_prior_is_the_catalogue_and_the_credits_with_their_spreads():
    held = prior(WAYS)
    assert np.exp(held.cost[WAYS.position(TUCK)]) == pytest.approx(2.4)
    assert held.covariance[WAYS.position(ROCK), WAYS.position(ROCK)] == pytest.approx(
        COST_SPREAD**2
    )
    assert spread_of_worth(held, TUCK) == (pytest.approx(np.log(0.8)), pytest.approx(TIE_SPREAD))


def test_an_option_nobody_used_keeps_its_credit_with_its_full_width():
    told = [
        (m, c, 7 * c, 600, ROCK, {SQUAT: 90, ROCK: 110 + m}) for m in range(8) for c in range(5)
    ]
    got = fit(WAYS, rows_of(*told))
    assert got.convergence.converged
    assert spread_of_worth(got, IDLE) == (
        pytest.approx(np.log(0.5), abs=1e-6),
        pytest.approx(TIE_SPREAD, rel=1e-4),
    )
    assert got.used[WAYS.position(IDLE)] == 0 and got.used[WAYS.position(ROCK)] == 40


def test_one_result_of_one_member_leaves_nearly_all_open():
    got = fit(WAYS, rows_of((0, 0, 0, 600, ROCK, {SQUAT: 100, ROCK: 120.5})))
    assert got.convergence.converged
    # 100 × 2 s + 120.5 × 3 s in 600 s: about as fast as the catalogue says.
    assert abs(got.levels.mean[0]) < 0.15
    assert 0.15 < np.sqrt(got.levels.variance[0]) < 0.4
    root = np.sqrt(got.covariance[WAYS.position(ROCK), WAYS.position(ROCK)])
    assert 0.25 < root <= COST_SPREAD + 1e-9


def test_a_member_with_one_result_lies_between_it_and_the_typical_member():
    usual = [(m, c, 7 * c, 600, ROCK, {SQUAT: 90, ROCK: 120.5}) for m in range(9) for c in range(9)]
    fast = (9, 4, 28, 600, ROCK, {SQUAT: 120, ROCK: 180.5})
    got = fit(WAYS, rows_of(*usual, fast))
    alone = got.levels.mean[got.levels.start[9]]
    typical = got.levels.mean[got.levels.start[0]]
    assert np.log(420 / 700) < alone - typical < 0
    assert got.levels.variance[got.levels.start[9]] > got.levels.variance[got.levels.start[0]]


def test_where_everybody_finished_times_alone_tell():
    told = [
        (m, c, 7 * c, 480 + 20 * m + 5 * c, None, {SQUAT: 100, ROCK: 100})
        for m in range(6)
        for c in range(4)
    ]
    got = fit(WAYS, rows_of(*told))
    assert got.convergence.converged
    firsts = got.levels.mean[got.levels.start[:-1]]
    assert list(firsts) == sorted(firsts)


def test_no_rep_done_says_nothing():
    told = [(m, 0, 0, 600, ROCK, {SQUAT: 90, ROCK: 110.5 + m}) for m in range(4)]
    without = fit(WAYS, rows_of(*told, members=5))
    got = fit(WAYS, rows_of(*told, (4, 0, 0, 600, SQUAT, {}), members=5))
    assert np.isnan(got.expected[4]) and not np.isnan(got.expected[:4]).any()
    assert got.cost == pytest.approx(without.cost)
    assert got.levels.start[5] == got.levels.start[4]


def test_one_all_but_impossible_mark_is_seen_and_moves_the_others_little():
    def told(last):
        return rows_of(
            *(
                (
                    m,
                    c,
                    7 * c,
                    600,
                    ROCK,
                    {SQUAT: 90 + 4 * ((m + c) % 3), ROCK: last if (m, c) == (5, 5) else 120.5},
                )
                for m in range(10)
                for c in range(8)
            )
        )

    fair, wild = fit(WAYS, told(120.5)), fit(WAYS, told(900.5))
    assert wild.convergence.converged
    where = 5 * 8 + 5
    assert wild.expected[where] < -4 < fair.expected[where]
    others = np.r_[0:where, where + 1 : 80]
    assert np.abs(wild.levels.mean[others] - fair.levels.mean[others]).max() < 0.05
    assert np.abs(wild.effect - fair.effect).max() < 0.05


def test_a_gap_in_attendance_widens_what_is_known_after_it():
    def told(last_day):
        days = [0, 7, 14, 21, last_day]
        return rows_of(
            *(
                (m, c, day, 600, ROCK, {SQUAT: 90, ROCK: 120.5 + 3 * ((m * c) % 4)})
                for m in range(6)
                for c, day in enumerate(days)
            )
        )

    soon, late = fit(WAYS, told(28)), fit(WAYS, told(400))
    assert late.levels.variance[4] > soon.levels.variance[4]


def test_rows_out_of_order_are_refused():
    rows = rows_of((1, 0, 0, 600, ROCK, {ROCK: 9}), (0, 0, 0, 600, ROCK, {ROCK: 9}))
    with pytest.raises(ValueError, match="sorted"):
        fit(WAYS, rows)


@pytest.mark.parametrize("seed", [3, 4])
def test_the_truth_of_an_invented_gym_is_found(seed):
    drawn = scene(SMALL, seed)
    got = fit(drawn.ways, drawn.rows)
    assert got.convergence.converged
    before = np.sqrt(np.mean((drawn.cost - drawn.ways.base) ** 2))
    after = np.sqrt(np.mean((drawn.cost - got.cost) ** 2))
    assert after < before / 3
    assert got.spreads.noise == pytest.approx(drawn.truth["noise"], rel=0.15)
    apart = (drawn.cost - got.cost) / np.sqrt(np.diag(got.covariance))
    assert np.abs(apart).max() < 4.5


def test_the_same_results_give_the_same_estimate_to_the_last_digit():
    drawn = scene(SMALL, 5)
    one, other = fit(drawn.ways, drawn.rows), fit(drawn.ways, drawn.rows)
    assert packed(one) == packed(other)
    assert packed(unpacked(packed(one))) == packed(one)


@pytest.mark.parametrize("data", [b"", b"no estimate", packed(prior(WAYS))[:-9]])
def test_other_bytes_are_no_estimate(data):
    with pytest.raises(ValueError, match="no estimate"):
        unpacked(data)


def test_splits_at_random_end_at_a_bound_and_at_rest():
    drawn = scene(SMALL, 6, splits=0.5)
    random = np.random.default_rng(1)
    seconds = drawn.rows.seconds.copy()
    split = (drawn.rows.stop < 0) & (np.append(np.diff(drawn.rows.result), 1) == 0)
    seconds[split] *= random.uniform(0.3, 1, split.sum())
    got = fit(drawn.ways, replace(drawn.rows, seconds=seconds))
    assert got.convergence.converged
    assert FADE_BOUNDS[0] <= got.spreads.fade <= FADE_BOUNDS[1]
    assert got.spreads.noise > 0.1


def test_one_split_that_slipped_moves_costs_little():
    drawn = scene(SMALL, 7, splits=0.4)
    seconds = drawn.rows.seconds.copy()
    first = int(np.flatnonzero(np.diff(drawn.rows.result) == 0)[0])
    seconds[first] /= 5
    fair, slipped = (
        fit(drawn.ways, drawn.rows),
        fit(drawn.ways, replace(drawn.rows, seconds=seconds)),
    )
    assert slipped.convergence.converged
    moved = np.abs(slipped.cost - fair.cost) / np.sqrt(np.diag(fair.covariance))
    assert moved.max() < 1
