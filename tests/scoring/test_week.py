"""This week: the right classes on the right days, whatever clocks do."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from scoring.models import StreamedClass
from scoring.selectors.week import lasts, week_ahead
from scoring.services.classes import close_class

from ..conftest import NOW
from .classes import make_class

LISBON = ZoneInfo("Europe/Lisbon")


def at(people, starts, **kwargs):
    streamed = make_class(people, **kwargs)
    StreamedClass.objects.filter(pk=streamed.pk).update(starts_at=starts)
    return streamed.pk


def seen(viewer, *, zone=LISBON, now=NOW):
    return {
        day.date: [c.pk for c in day.classes]
        for day in week_ahead(viewer=viewer, zone=zone, now=now)
    }


def test_todays_classes_stay_until_the_day_is_over_and_the_week_ends_after_seven_more(people):
    today = datetime(2026, 11, 24, 0, 0, tzinfo=LISBON)
    at(people, today - timedelta(seconds=1))
    first = at(people, today)
    last = at(people, today + timedelta(days=8, seconds=-1))
    at(people, today + timedelta(days=8))
    assert seen(people.ana) == {date(2026, 11, 24): [first], date(2026, 12, 1): [last]}


def test_a_day_is_the_viewers_day(people):
    key = at(people, datetime(2026, 11, 24, 18, 30, tzinfo=UTC))
    assert seen(people.ana) == {date(2026, 11, 24): [key]}
    assert seen(people.ana, zone=ZoneInfo("Asia/Kathmandu")) == {date(2026, 11, 25): [key]}
    # There it is the 24th still, and the class of 18:30 UTC was in the morning.
    assert seen(people.ana, zone=ZoneInfo("Pacific/Honolulu")) == {date(2026, 11, 24): [key]}


def test_drafts_are_for_coaches_and_nothing_is_for_those_of_another_gym_or_who_left(people):
    draft = at(people, NOW, is_open=False)
    shown = at(people, NOW)
    assert seen(people.coach) == {NOW.date(): [draft, shown]}
    assert seen(people.ana) == {NOW.date(): [shown]}
    assert seen(people.foreigner) == seen(people.foreign_coach) == {}
    people.ana.left_at = NOW
    assert seen(people.ana) == {}


@pytest.mark.parametrize("day", [date(2026, 3, 29), date(2026, 10, 25)])
def test_a_day_of_changing_clocks_is_whole(people, day):
    """EU clocks change on the last Sundays of March and October: 23 and 25 hours."""
    start = datetime(day.year, day.month, day.day, tzinfo=LISBON)
    end = start + timedelta(days=1)  # wall time: the next midnight
    keys = [at(people, start), at(people, end.astimezone(UTC) - timedelta(seconds=1))]
    after = at(people, end)
    found = seen(people.ana, now=start + timedelta(hours=12))
    assert found[day] == keys
    assert found[day + timedelta(days=1)] == [after]


@given(moment=st.datetimes(datetime(2026, 1, 1), datetime(2027, 12, 31)), hours=st.integers(0, 167))
def test_every_class_within_seven_days_is_in_the_week(moment, hours):
    # The bounds alone, computed as the selector does, for every hour of two years.
    now = moment.replace(tzinfo=UTC)
    starts = now + timedelta(hours=hours)
    today = now.astimezone(LISBON).date()
    day = starts.astimezone(LISBON).date()
    assert today <= day <= today + timedelta(days=7)


def test_what_to_keep_free_is_the_clock_and_a_warm_up_or_an_hour(people):
    assert lasts(make_class(people)) == timedelta(minutes=33)
    unscored = "Easy day\n\n3 rounds, not scored\n10 air squat\n"
    assert lasts(make_class(people, unscored)) == timedelta(minutes=60)


def test_the_page_says_when_what_and_whether_it_is_open(client, people, monkeypatch):
    monkeypatch.setattr("scoring.pages.week.timezone.now", lambda: NOW + timedelta(minutes=5))
    at(people, NOW)
    closed = make_class(people)
    close_class(streamed_class=closed, by=people.coach, now=NOW)
    coming = at(people, NOW + timedelta(days=2))
    client.force_login(people.ana.user)
    page = client.get(reverse("week")).content.decode()
    assert "Today, Tuesday 24 November" in page and "Thursday 26 November" in page
    assert "18:30 Two ladders and a tide" in page and "about 33 minutes, with Carl Coach" in page
    for said in ("open for logging", "closed", "still to come"):
        assert page.count(said) == 1
    assert reverse("class", args=[coming]) in page
    assert "the gym's time zone, Europe/Lisbon." in page


def test_the_page_says_so_where_the_time_is_not_the_gyms(client, people, monkeypatch):
    monkeypatch.setattr("scoring.pages.week.timezone.now", lambda: NOW)
    people.ana.timezone = "Asia/Kathmandu"
    people.ana.save()
    at(people, NOW)
    client.force_login(people.ana.user)
    page = client.get(reverse("week")).content.decode()
    assert "Wednesday 25 November" in page and "00:15 Two ladders" in page
    assert "your time zone, Asia/Kathmandu; the gym is in Europe/Lisbon" in page


def test_an_empty_week_says_what_to_expect(client, people):
    client.force_login(people.ana.user)
    assert "Nothing is planned yet." in client.get(reverse("week")).content.decode()
