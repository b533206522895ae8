"""Quiet hours, days and weeks by a member's own clock, also on the days it is changed.

Europe/Lisbon in 2026: on 29 March 01:00 WET becomes 02:00 WEST, on 25 October 02:00 WEST
becomes 01:00 WET (IANA time zone database, rule EU: last Sundays, 01:00 UTC).
"""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.iso_week import IsoWeek
from scoring.messages.quiet import (
    day_start,
    first_loud,
    is_quiet,
    week_bounds,
)

LISBON = ZoneInfo("Europe/Lisbon")
NIGHT = (time(21), time(7))


def at(text, zone=UTC):
    return datetime.fromisoformat(text).replace(tzinfo=zone)


def loud(text, start=NIGHT[0], end=NIGHT[1], zone=LISBON):
    return first_loud(at(text), zone, start, end).isoformat(timespec="minutes")[:16]


@pytest.mark.parametrize(
    ("day", "hours"), [("2026-03-28", 24), ("2026-03-29", 23), ("2026-10-25", 25)]
)
def test_a_day_is_as_long_as_the_clock_makes_it(day, hours):
    day = date.fromisoformat(day)
    length = day_start(day + timedelta(days=1), LISBON) - day_start(day, LISBON)
    assert length == timedelta(hours=hours)


@pytest.mark.parametrize(
    ("evening", "hours"), [("2026-03-27", 10), ("2026-03-28", 9), ("2026-10-24", 11)]
)
def test_the_night_is_an_hour_shorter_or_longer(evening, hours):
    begins = at(f"{evening}T21:00", LISBON)
    ends = first_loud(begins, LISBON, *NIGHT)
    assert ends - begins.astimezone(UTC) == timedelta(hours=hours)
    assert ends.astimezone(LISBON).time() == time(7)


def test_a_week_with_a_change_is_an_hour_shorter_or_longer():
    for day, hours in (("2026-03-25", 167), ("2026-10-20", 169), ("2026-11-24", 168)):
        begins, ends = week_bounds(date.fromisoformat(day), LISBON)
        assert ends - begins == timedelta(hours=hours)
        assert begins.astimezone(LISBON).weekday() == 0


def test_quiet_is_until_seven_and_no_longer():
    # WET is UTC: in winter the two clocks agree.
    assert loud("2026-11-24T20:59") == "2026-11-24T20:59"
    assert loud("2026-11-24T21:00") == "2026-11-25T07:00"
    assert loud("2026-11-25T06:59") == "2026-11-25T07:00"
    assert loud("2026-11-25T07:00") == "2026-11-25T07:00"
    # WEST is an hour ahead of it.
    assert loud("2026-07-01T20:00") == "2026-07-02T06:00"


def test_an_end_in_the_hour_that_is_skipped_is_the_moment_of_the_change():
    assert loud("2026-03-28T23:00", end=time(1, 30)) == "2026-03-29T01:00"


def test_an_end_in_the_hour_that_comes_twice():
    # The first 01:30 is WEST; at 02:00 WEST the clock is put back into the quiet hours.
    assert loud("2026-10-24T23:00", end=time(1, 30)) == "2026-10-25T00:30"
    assert loud("2026-10-25T01:10", end=time(1, 30)) == "2026-10-25T01:30"


def test_equal_times_are_no_quiet_hours_and_a_siesta_is_possible():
    assert loud("2026-11-24T23:00", start=time(7), end=time(7)) == "2026-11-24T23:00"
    assert loud("2026-11-24T14:10", start=time(13), end=time(15)) == "2026-11-24T15:00"
    assert loud("2026-11-24T23:00", start=time(13), end=time(15)) == "2026-11-24T23:00"


@given(
    st.datetimes(datetime(2026, 1, 1), datetime(2027, 1, 1), timezones=st.just(UTC)),
    st.sampled_from(["Europe/Lisbon", "America/Sao_Paulo", "Asia/Kathmandu", "Africa/Cairo",
                     "Australia/Lord_Howe", "Pacific/Apia"]).map(ZoneInfo),
    st.times(), st.times(),
)  # fmt: skip
def test_nothing_is_sent_in_quiet_hours_nor_later_than_need_be(moment, zone, start, end):
    start, end = (t.replace(second=0, microsecond=0) for t in (start, end))
    found = first_loud(moment, zone, start, end)
    assert not is_quiet(found, zone, start, end)
    assert found == moment or is_quiet(found - timedelta(minutes=1), zone, start, end)
    assert moment <= found <= moment + timedelta(hours=25)


def test_weeks_are_named_as_in_iso_8601():
    # ISO 8601: 4 January is always in week 1, so 2027-01-01 is in the last week of 2026.
    assert str(IsoWeek.of(date(2027, 1, 1))) == "2026-W53"
    assert str(IsoWeek.of(date(2026, 11, 24))) == "2026-W48"
    assert IsoWeek.read("2026-W48").monday == date(2026, 11, 23)
