"""The calendar feed, read back as a calendar program reads it."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from icalendar import Calendar

from members import feeds
from scoring.models import StreamedClass
from scoring.services.classes import change_draft, close_class, open_class

from ..conftest import NOW, TWO_LADDERS
from .classes import log, make_class

LISBON = ZoneInfo("Europe/Lisbon")


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr("scoring.pages.calendar.timezone.now", lambda: NOW)


@pytest.fixture
def address(people):
    return reverse("calendar-feed", args=[feeds.make_feed(membership=people.ana, now=NOW)])


def events(answer):
    return Calendar.from_ical(answer.content).walk("VEVENT")


def at(people, starts, **kwargs):
    streamed = make_class(people, **kwargs)
    StreamedClass.objects.filter(pk=streamed.pk).update(starts_at=starts)
    return streamed


def test_a_class_is_told_whole(client, people, address):
    streamed = make_class(people)
    answer = client.get(address)
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    [event] = events(answer)
    assert event["SUMMARY"] == "Two ladders and a tide"
    assert event.decoded("DTSTART") == NOW
    assert event.decoded("DURATION") == timedelta(minutes=33)
    assert event["DESCRIPTION"].startswith(TWO_LADDERS)
    assert "pain or pressure in the chest" in event["DESCRIPTION"]
    assert event["URL"] == f"http://testserver/classes/{streamed.pk}/"
    assert event["SEQUENCE"] == streamed.board_version
    assert event.decoded("LAST-MODIFIED").tzinfo is not None
    assert b"DTSTART:20261124T183000Z" in answer.content
    calendar = Calendar.from_ical(answer.content)
    assert calendar["VERSION"] == "2.0" and calendar["PRODID"]
    assert calendar["X-WR-CALNAME"] == "Harbour Street"


def test_lines_are_folded_at_75_octets_and_end_in_crlf(client, people, address):
    long = "A tide of ñandú and 海 " * 5
    make_class(people, TWO_LADDERS.replace("Two ladders and a tide", long.strip()))
    raw = client.get(address).content
    assert raw.endswith(b"\r\n") and b"\n" not in raw.replace(b"\r\n", b"")
    assert max(len(line) for line in raw.split(b"\r\n")) <= 75
    for line in raw.split(b"\r\n"):
        line.decode()  # never folded within a letter
    assert events(client.get(address))[0]["SUMMARY"] == long.strip()


@pytest.mark.parametrize(
    ("day", "utc_hour"),
    # Lisbon is an hour ahead of UTC until 01:00 UTC on 25 October 2026, and level after it;
    # ahead again from 01:00 UTC on 28 March 2027.
    [
        ((2026, 10, 24), 17),
        ((2026, 10, 25), 18),
        ((2027, 3, 27), 18),
        ((2027, 3, 28), 17),
    ],
)
def test_half_past_six_in_the_gym_is_the_right_utc_around_a_change_of_clocks(
    client, people, address, day, utc_hour
):
    at(people, datetime(*day, 18, 30, tzinfo=LISBON))
    answer = client.get(address)
    text = "{:04}{:02}{:02}T{:02}3000Z".format(*day, utc_hour)
    assert f"DTSTART:{text}".encode() in answer.content
    assert events(answer)[0].decoded("DTSTART") == datetime(*day, utc_hour, 30, tzinfo=UTC)


def test_the_member_s_own_zone_changes_no_moment(client, people, address):
    make_class(people)
    before = client.get(address).content
    people.ana.timezone = "Asia/Tokyo"
    people.ana.save()
    assert client.get(address).content == before


def test_eight_weeks_back_and_all_to_come(client, people, address):
    edge = NOW - timedelta(weeks=8)
    for starts in (edge - timedelta(seconds=1), edge, NOW, NOW + timedelta(days=300)):
        at(people, starts)
    found = [event.decoded("DTSTART") for event in events(client.get(address))]
    assert found == [edge, NOW, NOW + timedelta(days=300)]


def test_a_uid_is_a_class_and_stays_while_the_sequence_goes_on(client, people):
    token = feeds.make_feed(membership=people.coach, now=NOW)
    address = reverse("calendar-feed", args=[token])
    draft, other = make_class(people, is_open=False), make_class(people)
    told = [{e["UID"]: e for e in events(client.get(address))}]
    assert len(told[0]) == 2
    later = NOW + timedelta(days=1)
    change_draft(streamed_class=draft, by=people.coach, starts_at=later)
    told.append({e["UID"]: e for e in events(client.get(address))})
    draft.refresh_from_db()
    open_class(streamed_class=draft, by=people.coach, now=NOW)
    told.append({e["UID"]: e for e in events(client.get(address))})
    close_class(streamed_class=draft, by=people.coach, now=later)
    told.append({e["UID"]: e for e in events(client.get(address))})
    assert {frozenset(each) for each in told} == {frozenset(told[0])}
    [uid] = [u for u, e in told[0].items() if e["STATUS"] == "TENTATIVE"]
    assert [each[uid]["SEQUENCE"] for each in told] == sorted({e[uid]["SEQUENCE"] for e in told})
    assert len({each[uid]["SEQUENCE"] for each in told}) == 4
    assert told[1][uid].decoded("DTSTART") == later
    assert told[2][uid]["STATUS"] == "CONFIRMED"
    assert told[3][uid].decoded("LAST-MODIFIED") == later
    assert other.pk != draft.pk


def test_drafts_and_other_gyms_are_not_in_a_members_feed(client, people, address):
    make_class(people, is_open=False)
    assert events(client.get(address)) == []
    far = reverse("calendar-feed", args=[feeds.make_feed(membership=people.foreigner, now=NOW)])
    make_class(people)
    assert events(client.get(far)) == []


def test_nothing_of_any_member_is_in_it(client, people, address):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9", note="sore knee")
    text = client.get(address).content.decode().replace("\r\n ", "")
    for told in ("Ana", "ana.sol", "sore knee", "2+9"):
        assert told not in text


def test_an_unchanged_calendar_costs_a_304_and_is_kept_by_its_reader_only(client, people, address):
    streamed = make_class(people)
    first = client.get(address)
    assert set(first["Cache-Control"].split(", ")) >= {"private", "no-cache"}
    tag = first["ETag"]
    same = client.get(address, HTTP_IF_NONE_MATCH=tag)
    assert same.status_code == 304 and same.content == b"" and same["ETag"] == tag
    assert "private" in same["Cache-Control"]
    close_class(streamed_class=streamed, by=people.coach, now=NOW)
    changed = client.get(address, HTTP_IF_NONE_MATCH=tag)
    assert changed.status_code == 200 and changed["ETag"] != tag


def test_nobody_has_to_be_signed_in_and_it_makes_no_difference_who_is(client, people, address):
    make_class(people, is_open=False)
    client.force_login(people.coach.user)
    assert events(client.get(address)) == []


@pytest.mark.parametrize("how", ["wrong", "revoked", "left", "odd", "cut"])
def test_an_address_that_is_not_good_any_more_is_not_there(client, people, address, how):
    if how == "revoked":
        feeds.revoke_feed(membership=people.ana)
    elif how == "left":
        people.ana.left_at = NOW
        people.ana.save()
    elif how == "wrong":
        address = reverse("calendar-feed", args=["x" * 43])
    elif how == "cut":
        address = address.replace(".ics", "")[:-1] + ".ics"
    else:
        address = "/calendar/%00%ff.ics"
    assert client.get(address).status_code == 404


def test_it_is_for_reading_only(client, address):
    assert client.post(address).status_code == 405
    assert client.head(address).status_code == 200


def test_the_secret_is_in_no_log_line(client, people, address, capfd, caplog):
    secret = address.removeprefix("/calendar/").removesuffix(".ics")
    with caplog.at_level("INFO"):
        client.get(address)
        feeds.revoke_feed(membership=people.ana)
        client.get(address)  # not found, which is told in a line of its own
    told = "".join(capfd.readouterr()) + "".join(str(line.msg) for line in caplog.records)
    assert "/calendar/[token]" in told and secret not in told
