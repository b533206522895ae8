"""Copying a week: each class on its weekday at its time, and nothing twice."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from hypothesis import given
from hypothesis import strategies as st

from scoring.core.iso_week import IsoWeek
from scoring.core.week_copy import Planned, Standing, copies

BERLIN = ZoneInfo("Europe/Berlin")
WEEK = IsoWeek.read("2026-W42")  # 12 to 18 October
AUTUMN = IsoWeek.read("2026-W44")  # begins after clocks were put back on 25 October


def at(day, clock, zone=BERLIN):
    return datetime.fromisoformat(f"{day}T{clock}").replace(tzinfo=zone)


def test_a_class_keeps_weekday_and_clock_over_the_change_of_clocks():
    (copy,) = copies([Planned(1, 7, at("2026-10-14", "18:00"))], [], AUTUMN, BERLIN)
    assert copy.starts_at == at("2026-10-28", "18:00")
    assert copy.starts_at.timestamp() - at("2026-10-14", "18:00").timestamp() == 14 * 86400 + 3600
    assert copy.standing is Standing.NEW and copy.there is None and not copy.is_shifted


def test_what_stands_there_is_found_and_the_same_workout_at_another_time_is_told():
    source = [Planned(1, 7, at("2026-10-14", "18:00")), Planned(2, 8, at("2026-10-15", "18:00"))]
    there = Planned(11, 7, at("2026-10-28", "18:00"))
    moved = Planned(12, 8, at("2026-10-29", "07:00"))
    first, second = copies(source, [moved, there], AUTUMN, BERLIN)
    assert (first.standing, first.there) == (Standing.THERE, there)
    assert (second.standing, second.there) == (Standing.OTHER_TIME, moved)


def test_another_workout_at_that_time_is_not_in_the_way():
    target = [Planned(11, 9, at("2026-10-28", "18:00"))]
    (copy,) = copies([Planned(1, 7, at("2026-10-14", "18:00"))], target, AUTUMN, BERLIN)
    assert copy.standing is Standing.NEW


def test_two_alike_at_one_time_stay_two():
    twice = [Planned(n, 7, at("2026-10-14", "18:00")) for n in (1, 2)]
    one = [Planned(11, 7, at("2026-10-28", "18:00"))]
    assert [c.standing for c in copies(twice, one, AUTUMN, BERLIN)] == [
        Standing.THERE, Standing.NEW,
    ]  # fmt: skip


def test_morning_and_evening_do_not_stand_in_each_others_way():
    day = [Planned(1, 7, at("2026-10-14", "07:00")), Planned(2, 7, at("2026-10-14", "18:00"))]
    evening = [Planned(11, 7, at("2026-10-28", "18:00"))]
    first, second = copies(day, evening, AUTUMN, BERLIN)
    assert (first.standing, second.standing) == (Standing.NEW, Standing.THERE)


def test_a_time_that_clocks_jump_over_is_told():
    night = [Planned(1, 7, at("2026-03-22", "02:30"))]
    (copy,) = copies(night, [], IsoWeek.read("2026-W13"), BERLIN)
    assert copy.is_shifted and copy.starts_at.astimezone(BERLIN) == at("2026-03-29", "03:30")


MOMENTS = st.builds(
    lambda day, hour, minute: at(date(2026, 10, 12) + timedelta(days=day), f"{hour:02}:{minute:02}"),
    st.integers(0, 6), st.integers(4, 23), st.integers(0, 59),
)  # fmt: skip
SOURCES = st.lists(st.tuples(st.integers(1, 3), MOMENTS), max_size=8).map(
    lambda rows: [Planned(n, workout, moment) for n, (workout, moment) in enumerate(rows)]
)


@given(SOURCES, st.integers(-30, 30))
def test_none_is_left_out_and_copied_again_all_is_there(source, weeks):
    week = WEEK.plus(weeks)
    made = copies(source, [], week, BERLIN)
    assert sorted(c.key for c in made) == [row.key for row in source]
    workout = {row.key: row.workout for row in source}
    target = [Planned(100 + c.key, workout[c.key], c.starts_at) for c in made]
    assert {c.standing for c in copies(source, target, week, BERLIN)} <= {Standing.THERE}
