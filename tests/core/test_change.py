"""The change of a group, by hand: five members whose paces change by known ratios."""

from fractions import Fraction
from math import exp, log, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from scoring.core.change import pace_change, percent_of

PACE = st.fractions(Fraction(1, 100), 10, max_denominator=1000)


def test_a_gain_and_the_loss_that_undoes_it_cancel():
    # 10 → 11 and 11 → 10: the ratios multiply to one.
    found = pace_change([(Fraction(10), Fraction(11)), (Fraction(11), Fraction(10))])
    assert found.percent == pytest.approx(0, abs=1e-9)
    assert (found.count, found.low, found.high) == (2, None, None)


def test_five_by_hand_with_students_interval():
    # Ratios 1.1, 1.2, 1.0, 0.9, 1.3: their logarithms' mean and standard error, t of 4.
    ratios = [Fraction(n, 10) for n in (11, 12, 10, 9, 13)]
    found = pace_change([(Fraction(2), 2 * ratio) for ratio in ratios])
    logs = [log(r) for r in ratios]
    mean = sum(logs) / 5
    error = sqrt(sum((x - mean) ** 2 for x in logs) / 4 / 5)
    half = stats.t.ppf(0.975, 4) * error
    assert found.percent == pytest.approx((exp(mean) - 1) * 100)
    assert found.low == pytest.approx((exp(mean - half) - 1) * 100)
    assert found.high == pytest.approx((exp(mean + half) - 1) * 100)


@given(st.lists(st.tuples(PACE, PACE), min_size=1, max_size=4))
def test_few_have_no_interval(pairs):
    found = pace_change(pairs)
    assert (found.low, found.high, found.left_out) == (None, None, 0)


@given(st.lists(st.tuples(PACE, PACE), min_size=5, max_size=12))
def test_the_other_way_round_is_the_inverse_change(pairs):
    there, back = pace_change(pairs), pace_change([(now, then) for then, now in pairs])
    assert (1 + there.percent / 100) * (1 + back.percent / 100) == pytest.approx(1)
    assert there.low <= there.percent <= there.high


def test_nothing_done_has_no_ratio():
    pairs = [(Fraction(0), Fraction(3)), (Fraction(3), Fraction(0)), (Fraction(2), Fraction(3))]
    found = pace_change(pairs)
    assert (found.count, found.left_out) == (1, 2) and found.percent == pytest.approx(50)
    assert pace_change(pairs[:2]) is None and pace_change([]) is None
    assert percent_of(Fraction(0), Fraction(1)) is None
    assert percent_of(Fraction(4), Fraction(3)) == -25
