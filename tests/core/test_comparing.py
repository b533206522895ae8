"""Comparisons: against published figures and scipy, and what few people do to them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from scoring.core.comparing import (
    Estimate,
    difference,
    mean,
    median,
    paired,
    quantile,
    share,
    share_difference,
    spread,
)

# Student 1908, Biometrika 6:1, hours of sleep gained by ten people under two drugs; the
# intervals as R's t.test prints them (both from memory).
FIRST = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]
SECOND = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]


def test_the_same_people_twice_as_students_sleepers():
    found = paired(FIRST, SECOND)
    assert found.value == pytest.approx(1.58)
    assert (found.low, found.high) == pytest.approx((0.7001142, 2.4598858), abs=1e-7)
    assert found.n == 10 and found.excludes(0)


def test_taken_for_different_people_the_same_figures_no_longer_differ():
    found = difference(FIRST, SECOND)
    assert (found.low, found.high) == pytest.approx((-0.2054832, 3.3654832), abs=1e-7)
    assert not found.excludes(0)


# Newcombe 1998, Stat. Med. 17:857, table I, method 3 (from memory).
@pytest.mark.parametrize(
    ("hits", "total", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0, 0.1611), (1, 29, 0.0061, 0.1718)],
)  # fmt: skip
def test_shares_as_newcombe_prints_wilsons_interval(hits, total, low, high):
    found = share(hits, total)
    assert (found.low, found.high) == pytest.approx((low, high), abs=5e-5)


def test_the_difference_of_two_shares_as_newcombe_prints_it():
    # Newcombe 1998, Stat. Med. 17:873, table II (a), method 10: 56/70 and 48/80 (from memory).
    found = share_difference((48, 80), (56, 70))
    assert (found.value, found.low, found.high) == pytest.approx((0.2, 0.0524, 0.3339), abs=5e-5)


# NIST/SEMATECH e-Handbook 7.2.6.2, twelve gauge values: the p(N-1)+1 rule (by numpy).
GAUGE = [
    95.1772, 95.1567, 95.1937, 95.1959, 95.1442, 95.0610,
    95.1591, 95.1195, 95.1065, 95.0925, 95.1990, 95.1682,
]  # fmt: skip


def test_quantiles_are_type_7_of_hyndman_and_fan():
    assert quantile(GAUGE, 0.9) == pytest.approx(95.19568)
    # Hyndman & Fan 1996, Am. Stat. 50:361: 1…10 at p = .1 .25 .5 .75 .9, type 7.
    for p, value in ((0.1, 1.9), (0.25, 3.25), (0.5, 5.5), (0.75, 7.75), (0.9, 9.1)):
        assert quantile(range(1, 11), p) == pytest.approx(value)


def test_a_spread_is_median_and_quartiles():
    found = spread([1, 2, 3, 4])
    assert (found.low, found.median, found.high, found.n) == (1.75, 2.5, 3.25, 4)
    assert spread([]) is None


def test_six_values_are_the_fewest_for_the_interval_of_a_median():
    # 2 · (1/2)^5 = 0.0625 leaves more than 5 %, 2 · (1/2)^6 = 0.03125 does not.
    assert median([1, 2, 3, 4, 5]) == Estimate(3, None, None, 5)
    assert median([1, 2, 3, 4, 5, 6]) == Estimate(3.5, 1, 6, 6)


def test_few_or_none_have_no_interval():
    assert mean([]) == share(0, 0) == paired([], []) == Estimate(None, None, None, 0)
    assert mean([4.0]) == Estimate(4.0, None, None, 1)
    assert not mean([4.0]).excludes(0) and mean([4.0]).is_from_few


def test_nobody_differs_from_themselves():
    found = paired([1, 2, 3], [1, 2, 3])
    assert (found.value, found.low, found.high) == (0, 0, 0) and not found.excludes(0)


@pytest.mark.parametrize(("hits", "total"), [(3, 2), (-1, 4)])
def test_more_hits_than_there_were_is_no_share(hits, total):
    with pytest.raises(ValueError, match="no share"):
        share(hits, total)


_numbers = st.lists(st.integers(-1000, 1000).map(lambda n: n / 8), min_size=2, max_size=60)


@given(_numbers)
def test_means_as_scipy_has_them(values):
    found = mean(values)
    if len(set(values)) > 1:
        low, high = stats.ttest_1samp(values, 0).confidence_interval(0.95)
        assert (found.low, found.high) == pytest.approx((low, high))


@given(st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_shares_as_scipy_has_them(pair):
    found = share(*pair)
    wanted = stats.binomtest(*pair).proportion_ci(method="wilson")
    assert (found.low, found.high) == pytest.approx((wanted.low, wanted.high), abs=1e-12)


@given(_numbers, _numbers)
def test_differences_as_scipy_has_them(one, other):
    found = difference(one, other)
    if len(set(one)) > 1 and len(set(other)) > 1:
        wanted = stats.ttest_ind(other, one, equal_var=False).confidence_interval(0.95)
        assert (found.low, found.high) == pytest.approx((wanted.low, wanted.high))


@given(_numbers, st.floats(0, 1))
def test_quantiles_as_numpy_has_them(values, p):
    assert quantile(values, p) == pytest.approx(np.quantile(values, p), abs=1e-9)


@given(_numbers)
def test_the_interval_of_a_median_as_scipy_has_it(values):
    found = median(values)
    wanted = stats.quantile_test(values, q=0, p=0.5).confidence_interval(0.95)
    if found.low is not None:
        assert (found.low, found.high) == (wanted.low, wanted.high)
    else:
        assert np.isnan(wanted.low) or np.isnan(wanted.high)
