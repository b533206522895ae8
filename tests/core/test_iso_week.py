"""Weeks as ISO 8601 counts them, and class times when clocks are changed."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.iso_week import IsoWeek, is_skipped, local_moment, same_clock

BERLIN, NEW_YORK = ZoneInfo("Europe/Berlin"), ZoneInfo("America/New_York")
DAYS = st.dates(min_value=date(1990, 1, 1), max_value=date(2100, 12, 31))


@pytest.mark.parametrize(
    ("day", "week"),
    # ISO 8601 week rule: the week belongs to the year that has its Thursday.
    [
        (date(2020, 12, 31), "2020-W53"),
        (date(2021, 1, 3), "2020-W53"),
        (date(2021, 1, 4), "2021-W01"),
        (date(2026, 12, 31), "2026-W53"),
        (date(2027, 1, 1), "2026-W53"),
        (date(2026, 11, 24), "2026-W48"),
    ],
)
def test_a_day_lies_in_the_week_of_its_thursday(day, week):
    assert str(IsoWeek.of(day)) == week


@given(DAYS)
def test_what_is_printed_is_read_back_and_holds_the_day(day):
    week = IsoWeek.of(day)
    assert IsoWeek.read(str(week)) == week
    assert day in week.days and week.days[0].weekday() == 0 and len(week.days) == 7
    assert week.plus(1).plus(-1) == week
    assert week.plus(1).days[0] - week.days[-1] == timedelta(days=1)


@pytest.mark.parametrize("text", ["2026-W54", "2025-W53", "2026-W00", "W48", "2026-48", "x", ""])
def test_what_is_no_week_is_refused(text):
    with pytest.raises(ValueError, match="week"):
        IsoWeek.read(text)


@pytest.mark.parametrize("text", ["0000-W01", "9999-W52"])
def test_a_year_beyond_the_calendar_is_refused(text):
    with pytest.raises(ValueError):
        IsoWeek.read(text)


def test_a_class_keeps_its_clock_when_clocks_are_put_back():
    # Berlin has 25 hours on 2026-10-25: 18:00 is 16:00 UTC before it and 17:00 after.
    friday = datetime(2026, 10, 23, 16, tzinfo=UTC)
    monday = same_clock(friday, 3, BERLIN)
    assert monday == datetime(2026, 10, 26, 17, tzinfo=UTC)
    assert monday.astimezone(BERLIN).time() == time(18)


def test_a_class_keeps_its_clock_when_clocks_are_put_forward():
    # New York has 23 hours on 2026-03-08.
    saturday = local_moment(date(2026, 3, 7), time(18), NEW_YORK)
    assert same_clock(saturday, 1, NEW_YORK) - saturday == timedelta(hours=23)


@given(DAYS, st.integers(0, 23), st.integers(0, 59), st.integers(-60, 60))
def test_the_clock_of_the_zone_stays_wherever_it_exists(day, hour, minute, days):
    clock = time(hour, minute)
    there = day + timedelta(days=days)
    moved = same_clock(local_moment(day, clock, BERLIN), days, BERLIN).astimezone(BERLIN)
    if not is_skipped(day, clock, BERLIN) and not is_skipped(there, clock, BERLIN):
        assert (moved.date(), moved.time()) == (there, clock)


def test_a_time_that_clocks_jump_over_is_told_and_comes_later():
    assert is_skipped(date(2026, 3, 29), time(2, 30), BERLIN)
    assert not is_skipped(date(2026, 3, 29), time(3, 30), BERLIN)
    shown = local_moment(date(2026, 3, 29), time(2, 30), BERLIN).astimezone(BERLIN)
    assert shown.time() == time(3, 30)


def test_a_time_shown_twice_is_the_first_of_them():
    assert local_moment(date(2026, 10, 25), time(2, 30), BERLIN) == datetime(
        2026, 10, 25, 0, 30, tzinfo=UTC
    )
    assert not is_skipped(date(2026, 10, 25), time(2, 30), BERLIN)
