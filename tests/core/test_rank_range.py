"""Likely ranges of ranks: by hand where there is an answer, against the exact board else."""

from dataclasses import replace
from fractions import Fraction
from math import erf, log, sqrt

import numpy as np
import pytest
from scipy import sparse

from scoring.core.estimation.estimate import prior
from scoring.core.estimation.rank_range import (
    Field,
    Pair,
    RankRange,
    drawn_credits,
    drawn_ranks,
    middle_ranks,
    told,
    with_rank,
)
from scoring.core.estimation.ways import Way, tied
from scoring.core.ranking import Entry, competition_ranks, pace_key

ROCK = Way("hollow rock")
TUCK = Way("hollow rock", "tuck rock")
KNEE = Way("push-up", "knee push-up")
PUSH = Way("push-up")
WAYS = tied({ROCK: 2.0, PUSH: 1.5}, {TUCK: (ROCK, 0.8), KNEE: (PUSH, 0.7)})
TUCKS = Pair(TUCK, ROCK, Fraction("0.8"))
KNEES = Pair(KNEE, PUSH, Fraction("0.7"))
SCALE = 10_000


def field(*rows, pairs=1):
    """Rows of (as prescribed, reps in each pair, seconds, tie key)."""
    return Field(
        np.array([row[0] * SCALE for row in rows], dtype=np.int64),
        sparse.csr_array(np.array([row[1] for row in rows], dtype=np.int64).reshape(-1, pairs)),
        np.array([row[2] * 100 for row in rows], dtype=np.int64),
        np.array([row[3] for row in rows], dtype=np.int64),
        np.ones(len(rows), dtype=np.int64),
    )


def one(rows, index):
    return Field(
        rows.certain[[index]], rows.parts[[index]], rows.seconds[[index]],
        rows.tie_key[[index]], rows.count[[index]],
    )  # fmt: skip


def known(spread, *, results=20):
    """An estimate that holds the coach's credits with this log spread."""
    start = prior(WAYS)
    covariance = np.zeros_like(start.covariance)
    for way in (TUCK, KNEE):
        covariance[WAYS.position(way), WAYS.position(way)] = spread**2
    return replace(start, covariance=covariance, used=np.full(len(WAYS), results))


def test_certain_credits_leave_every_rank_as_it_is():
    rows = field((100, [0], 600, 0), (20, [120], 600, 0), (90, [10], 600, 0), (100, [0], 600, 0))
    credits = drawn_credits(known(0.0), [TUCKS])
    found = [middle_ranks(drawn_ranks(rows, one(rows, n), credits)) for n in range(4)]
    # 100, 20 + 0.8 × 120 = 116, 90 + 0.8 × 10 = 98, 100
    assert found == [RankRange(2, 2), RankRange(1, 1), RankRange(4, 4), RankRange(2, 2)]


def test_two_rows_and_one_option_change_places_as_often_as_the_normal_says():
    # 120 tuck rocks beat 100 hollow rocks where the worth is above 100/120. Its log is
    # normal around log 0.8 with deviation 0.2: above log(100/120) with probability 0.419.
    rows = field((100, [0], 600, 0), (0, [120], 600, 0))
    ranks = drawn_ranks(rows, one(rows, 1), drawn_credits(known(0.2), [TUCKS], draws=20_000))
    beats = 1 - (1 + erf(log(100 / 120 / 0.8) / 0.2 / sqrt(2))) / 2
    assert beats == pytest.approx(0.419, abs=1e-3)
    # Four deviations of a share of 20,000 draws are 4 × √(0.419 × 0.581 / 20,000) = 0.014.
    assert np.mean(ranks == 1) == pytest.approx(beats, abs=0.014)
    assert middle_ranks(ranks) == RankRange(1, 2)


def test_a_spread_too_small_to_change_places_leaves_both_where_they_are():
    # The same with a deviation of 0.02: they change places in 2 % of the draws.
    rows = field((100, [0], 600, 0), (0, [120], 600, 0))
    credits = drawn_credits(known(0.02), [TUCKS])
    assert middle_ranks(drawn_ranks(rows, one(rows, 0), credits)) == RankRange(1, 1)
    assert middle_ranks(drawn_ranks(rows, one(rows, 1), credits)) == RankRange(2, 2)


def test_a_row_without_options_moves_as_others_do():
    rows = field((100, [0], 600, 0), (0, [125], 600, 0), (10, [0], 600, 0))
    credits = drawn_credits(known(0.2), [TUCKS])
    first, last = (drawn_ranks(rows, one(rows, n), credits) for n in (0, 2))
    assert middle_ranks(first) == RankRange(1, 2)
    assert set(last) == {3}
    second = drawn_ranks(rows, one(rows, 1), credits)
    assert np.array_equal(first + second, np.full(len(first), 3))


def test_results_of_one_option_keep_their_order_whatever_it_is_worth():
    rows = field((0, [120], 600, 0), (0, [119], 600, 0))
    credits = drawn_credits(known(0.5), [TUCKS])
    assert set(drawn_ranks(rows, one(rows, 0), credits)) == {1}
    assert set(drawn_ranks(rows, one(rows, 1), credits)) == {2}


def test_a_worth_above_one_counts_one_unless_the_class_allows_more():
    sure = known(0.0)
    sure.cost[WAYS.position(TUCK)] = sure.cost[WAYS.position(ROCK)] + log(1.25)
    assert set(drawn_credits(sure, [TUCKS]).ravel()) == {SCALE}
    assert set(drawn_credits(sure, [TUCKS], above_one=True).ravel()) == {12_500}
    # So it ties with as many hollow rocks, and the split decides.
    rows = field((100, [0], 600, 5), (0, [100], 600, 4), (100, [0], 600, 4))
    credits = drawn_credits(sure, [TUCKS])
    assert [set(drawn_ranks(rows, one(rows, n), credits)) for n in range(3)] == [{3}, {1}, {1}]


def test_what_nobody_has_used_is_drawn_around_the_credit_of_the_class():
    start = replace(prior(WAYS))
    pair = Pair(TUCK, ROCK, Fraction("0.5"))
    new = Pair(Way("hollow rock", "dead bug"), ROCK, Fraction("0.5"))
    for each in (pair, new):
        logs = np.log(drawn_credits(start, [each], draws=20_000) / SCALE)
        assert np.mean(logs) == pytest.approx(log(0.5), abs=4 * 0.2 / sqrt(20_000))
        assert np.std(logs) == pytest.approx(0.2, abs=0.004)


def test_options_that_are_known_together_are_drawn_together():
    start = known(0.2)
    covariance = start.covariance.copy()
    tuck, knee = WAYS.position(TUCK), WAYS.position(KNEE)
    covariance[tuck, knee] = covariance[knee, tuck] = 0.2**2 * 0.999999
    drawn = drawn_credits(replace(start, covariance=covariance), [TUCKS, KNEES], above_one=True)
    assert np.corrcoef(np.log(drawn).T)[0, 1] > 0.999


def test_the_same_figures_give_the_same_draws_and_others_give_others():
    first, again = (drawn_credits(known(0.1), [TUCKS, KNEES]) for _ in range(2))
    assert np.array_equal(first, again) and first.shape == (500, 2)
    assert not np.array_equal(first, drawn_credits(known(0.11), [TUCKS, KNEES]))


def test_every_draw_ranks_as_the_board_would_with_those_credits(monkeypatch):
    # A crowd with ties, splits and rows that stand for several, against the exact order.
    dice = np.random.default_rng(3)
    size = 60
    rows = Field(
        dice.integers(40, 60, size) * SCALE,
        sparse.csr_array(dice.integers(0, 30, (size, 2)) * (dice.random((size, 2)) < 0.4)),
        dice.choice([60_000, 72_000], size),
        dice.integers(0, 3, size),
        dice.integers(1, 4, size),
    )
    credits = drawn_credits(known(0.2), [TUCKS, KNEES], draws=20)
    monkeypatch.setattr("scoring.core.estimation.rank_range._CELLS", 100)  # several pieces
    for index in range(0, size, 7):
        ranks = drawn_ranks(rows, one(rows, index), credits)
        for draw, credit in enumerate(credits):
            entries, places = [], []
            for n in range(size):
                parts = rows.parts[[n]].toarray()[0]
                credited = int(rows.certain[n]) + int(parts @ credit)
                key = pace_key(Fraction(credited, SCALE) / Fraction(int(rows.seconds[n]), 100))
                places.append(len(entries))
                entries += [Entry(key, int(rows.tie_key[n]), "")] * int(rows.count[n])
            assert ranks[draw] == competition_ranks(entries)[places[index]]


def test_eighty_per_cent_of_the_draws_are_the_range():
    assert middle_ranks(np.arange(1, 101)) == RankRange(10, 90)
    assert middle_ranks(np.array([3] * 85 + [9] * 15)) == RankRange(3, 9)
    assert middle_ranks(np.array([3] * 91 + [9] * 9)) == RankRange(3, 3)


def test_a_range_is_told_with_the_rank_that_stays():
    assert told(5, 4, 7) == (
        "Rank 5. Results so far tell only roughly what the options are worth: allowing for that, "
        "between 4 and 7."
    )
    assert told(5, 5, 5).endswith("most likely 5 as well.")


@pytest.mark.parametrize(
    ("found", "shown"), [((7, 9), (5, 9)), ((2, 3), (2, 5)), ((4, 7), (4, 7)), ((5, 5), (5, 5))]
)
def test_a_range_reaches_out_to_the_rank_of_the_board(found, shown):
    assert with_rank(RankRange(*found), 5) == RankRange(*shown)
