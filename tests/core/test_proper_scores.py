"""Scores of forecasts against published values, closed forms and what they promise."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from scoring.core.estimation.proper_scores import (
    coverage,
    crps,
    crps_normal,
    interval_score,
    pit,
)

FIGURES = st.floats(-100, 100)


@pytest.mark.parametrize(
    ("mean", "spread", "seen", "expected"),
    [(0, 1, 0, 0.233695), (0, 1, 1, 0.602441), (10, 2, 13, 1.988848)],
)
def test_score_of_a_normal_forecast(
    mean: float, spread: float, seen: float, expected: float
) -> None:
    # Gneiting & Raftery 2007, JASA 102:359-378, equation 21; two libraries give the same
    assert crps_normal(mean, spread, seen) == pytest.approx(expected, abs=1e-6)


def test_a_normal_forecast_met_in_its_middle() -> None:
    # (√2 - 1) / √π: the closed form of the same equation at z = 0
    assert crps_normal(0, 1, 0) == pytest.approx((sqrt(2) - 1) / sqrt(pi), abs=1e-12)


def test_score_of_draws_and_its_fair_version() -> None:
    # Gneiting & Raftery 2007, equation 20: mean |x - y| = 2/3, mean |x - x'| = 8/9
    assert crps([1, 2, 3], 2) == pytest.approx(2 / 9, abs=1e-12)
    # of two different draws the mean distance is 4/3 (Ferro 2014, QJRMS 140:1917-1923)
    assert crps([1, 2, 3], 2, fair=True) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(("seen", "expected"), [(5, 23), (3, 3)])
def test_score_of_an_interval(seen: float, expected: float) -> None:
    # Gneiting & Raftery 2007, equation 43: a 90 % interval from 1 to 4
    assert interval_score(1, 4, 0.9, seen) == pytest.approx(expected)


@given(st.lists(FIGURES, min_size=2, max_size=12), FIGURES)
def test_draws_score_as_their_pairs_say(draws: list[float], seen: float) -> None:
    values = np.array(draws)
    away = np.abs(values - seen).mean()
    pairs = np.abs(values[:, None] - values[None, :])
    assert crps(values, seen) == pytest.approx(away - pairs.mean() / 2, abs=1e-9)
    others = pairs.sum() / (len(values) * (len(values) - 1))
    assert crps(values, seen, fair=True) == pytest.approx(away - others / 2, abs=1e-9)


@given(FIGURES, FIGURES)
def test_a_single_draw_scores_its_distance(draw: float, seen: float) -> None:
    assert crps([draw], seen) == pytest.approx(abs(draw - seen), abs=1e-9)


def test_many_even_draws_score_as_the_normal_they_come_from() -> None:
    draws = norm.ppf((np.arange(4000) + 0.5) / 4000, loc=3, scale=2)
    seen = np.array([0.0, 3.0, 6.5])
    many = crps(np.tile(draws, (3, 1)), seen)
    assert many == pytest.approx(crps_normal(3, 2, seen), abs=1e-3)


def test_what_is_seen_in_the_middle_of_equal_draws_is_in_the_middle() -> None:
    assert pit([4, 4, 4, 4], 4) == pytest.approx(0.5)
    assert pit([1, 2, 2, 3], 2) == pytest.approx(0.5)
    assert pit([1, 2, 2, 3], 3) == pytest.approx(0.875)
    assert pit([1, 2, 2, 3], 0) == pytest.approx(0)


def test_coverage_with_its_range() -> None:
    eight = coverage([True] * 8 + [False] * 2)
    assert (eight.inside, eight.count, eight.share) == (8, 10, 0.8)
    # counted out by hand: a tenth of the area under x^7.5 (1 - x)^1.5 lies on either side
    grid = (np.arange(1_000_000) + 0.5) / 1_000_000
    area = grid**7.5 * (1 - grid) ** 1.5
    assert area[grid < eight.low].sum() / area.sum() == pytest.approx(0.1, abs=1e-5)
    assert area[grid > eight.high].sum() / area.sum() == pytest.approx(0.1, abs=1e-5)
    assert coverage([True, True]).high == 1
    assert coverage([False]).low == 0
    nothing = coverage([])
    assert (nothing.share, nothing.low, nothing.high) == (None, 0, 1)


def test_faults_are_told() -> None:
    with pytest.raises(ValueError, match="more than 0"):
        crps_normal(0, 0, 1)
    with pytest.raises(ValueError, match="two draws"):
        crps([1], 1, fair=True)
    with pytest.raises(ValueError, match="needs one"):
        crps(np.zeros((2, 0)), [1, 2])
    with pytest.raises(ValueError, match="less than all"):
        interval_score(0, 1, 1, 0)
