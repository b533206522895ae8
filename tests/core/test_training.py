"""Session load, monotony and strain by their published definitions; weeks by ISO 8601."""

from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.iso_week import IsoWeek
from scoring.core.training import Week, by_week, session_load, weeks

MONDAY = date(2026, 11, 23)


def week(*daily):
    return Week(MONDAY, tuple(Fraction(load) for load in daily))


def test_session_load_is_effort_times_minutes():
    # Foster and others 2001, J Strength Cond Res 15(1):109 (definition)
    assert session_load(7, Fraction(18 * 60)) == 126


def test_monotony_and_strain_of_a_week():
    # Definition: Foster 1998, Med Sci Sports Exerc 30(7):1164. The figures are arithmetic on
    # it, not a published table, with the sample's standard deviation.
    one = week(315, 0, 300, 240, 0, 300, 160)
    assert one.load == 1315
    assert one.monotony == pytest.approx(1.354609, abs=1e-6)
    assert one.strain == pytest.approx(1781.3105, abs=1e-3)


def test_one_training_day_has_the_same_monotony_whatever_its_load():
    # arithmetic: mean L/7 over the sample's deviation L/√7
    for load in (1, 300, 4000):
        assert week(0, load, 0, 0, 0, 0, 0).monotony == pytest.approx(1 / sqrt(7))


@pytest.mark.parametrize("daily", [(0,) * 7, (100,) * 7])
def test_where_nothing_varies_there_is_no_monotony(daily):
    assert week(*daily).monotony is None and week(*daily).strain is None


@pytest.mark.parametrize(
    ("day", "iso"),
    [  # ISO 8601-1:2019, week 1 holds the first Thursday
        (date(2020, 12, 31), (2020, 53, 4)),
        (date(2021, 1, 3), (2020, 53, 7)),
        (date(2021, 1, 4), (2021, 1, 1)),
        (date(2026, 12, 31), (2026, 53, 4)),
        (date(2027, 1, 1), (2026, 53, 5)),
    ],
)
def test_weeks_are_those_of_iso_8601(day, iso):
    assert tuple(day.isocalendar()) == iso
    assert tuple(IsoWeek.of(day).monday.isocalendar()) == (iso[0], iso[1], 1)


days = st.dates(date(2020, 1, 1), date(2027, 12, 31))


@given(st.lists(st.tuples(days, st.integers(0, 900).map(Fraction)), max_size=40))
def test_no_load_is_lost_and_no_week_left_out(sessions):
    found = weeks(sessions)
    assert sum((w.load for w in found), Fraction(0)) == sum((s[1] for s in sessions), Fraction(0))
    assert all(b.monday - a.monday == timedelta(days=7) for a, b in pairwise(found))
    assert bool(found) is bool(sessions)


def test_reps_are_summed_by_week_with_the_empty_weeks_between():
    done = [
        (MONDAY, {"sit-up": 10}),
        (MONDAY + timedelta(days=6), {"sit-up": 5, "burpee": 3}),
        (MONDAY + timedelta(days=14), {"burpee": 1}),
    ]
    assert [counts for _, counts in by_week(done)] == [
        {"sit-up": 15, "burpee": 3},
        {},
        {"burpee": 1},
    ]
    assert by_week([]) == ()
