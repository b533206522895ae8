"""A member's own time zone: chosen, kept, and in force on pages."""

from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse

from members import services, zones
from members.problems import Refused

from ..scoring.classes import make_class


def test_what_is_offered_is_known_and_named_after_a_place():
    assert {"Europe/Lisbon", "America/New_York", "Asia/Kathmandu", "UTC"} <= set(zones.names())
    assert not {"EST", "GMT", "Etc/GMT+5", "localtime", "posixrules", ""} & set(zones.names())
    for name in zones.names():
        ZoneInfo(name)


def test_every_name_is_offered_once_and_one_kept_before_too():
    listed = [name for _, names in zones.grouped("EST") for name in names]
    assert sorted(listed) == sorted([*zones.names(), "EST"])
    assert zones.grouped("UTC") == zones.grouped()


@pytest.mark.parametrize(
    "name", ["EST", "Mars/Base", "../../etc/passwd", "Europe/Lisbon\0", "x" * 99]
)
def test_what_is_not_offered_is_refused(people, name):
    with pytest.raises(Refused, match="no time zone"):
        services.change_profile(
            membership=people.ana, display_name="Ana", shown_as="name", timezone=name
        )
    people.ana.refresh_from_db()
    assert people.ana.timezone == ""


def save(client, zone):
    sent = {"display_name": "Ana Sol", "shown_as": "name", "timezone": zone}
    return client.post(reverse("profile"), sent, follow=True)


def test_times_on_pages_follow_the_zone_that_was_chosen(client, people):
    streamed = make_class(people)  # 18:30 in Lisbon in November
    client.force_login(people.ana.user)
    page = reverse("class", args=[streamed.pk])
    before = client.get(page).content.decode()
    assert "24 November 2026, 18:30" in before and "Times are in your time zone" not in before
    assert 'value="Asia/Kathmandu" selected' in save(client, "Asia/Kathmandu").content.decode()
    after = client.get(page).content.decode()
    assert "25 November 2026, 00:15" in after
    assert "Times are in your time zone, Asia/Kathmandu. The gym's is Europe/Lisbon." in after
    save(client, "")
    assert client.get(page).content.decode().count("18:30") == before.count("18:30")


def test_choosing_the_gyms_own_zone_by_name_is_no_difference_to_speak_of(client, people):
    client.force_login(people.ana.user)
    assert "Times are in your time zone" not in save(client, "Europe/Lisbon").content.decode()


def test_a_zone_of_one_gym_is_not_taken_to_another(people):
    people.ana.timezone = "Asia/Tokyo"
    assert people.ana.zone.key == "Asia/Tokyo" and people.ben.zone.key == "Europe/Lisbon"


def test_a_coach_with_a_zone_of_their_own_is_told_which_one_they_write_in(client, people):
    client.force_login(people.coach.user)
    assert "so is the time you write here" not in client.get(reverse("class-new")).content.decode()
    services.change_profile(
        membership=people.coach, display_name="C", shown_as="name", timezone="Europe/Berlin"
    )
    told = client.get(reverse("class-new")).content.decode()
    assert "Your time zone is Europe/Berlin, and so is the time you write here" in told
