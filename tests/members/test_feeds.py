"""A calendar's secret address: shown once, one at a time, taken back for good."""

import re

import pytest
from django.urls import reverse

from members import feeds, services
from members.models import CalendarFeed, Invitation

from ..conftest import NOW


def test_only_a_hash_is_kept(people):
    token = feeds.make_feed(membership=people.ana, now=NOW)
    row = CalendarFeed.objects.get()
    assert token not in (row.token_hash, str(row)) and len(row.token_hash) == 64
    assert feeds.holder(token) == people.ana


def test_a_new_address_ends_the_one_before_and_nobody_elses(people):
    first = feeds.make_feed(membership=people.ana, now=NOW)
    bens = feeds.make_feed(membership=people.ben, now=NOW)
    second = feeds.make_feed(membership=people.ana, now=NOW)
    found = [feeds.holder(token) for token in (first, second, bens)]
    assert found == [None, people.ana, people.ben]


def test_one_taken_back_opens_nothing_and_taking_back_twice_is_fine(people):
    token = feeds.make_feed(membership=people.ana, now=NOW)
    assert feeds.revoke_feed(membership=people.ana) is True
    assert feeds.revoke_feed(membership=people.ana) is False
    assert feeds.holder(token) is None


def test_who_leaves_and_comes_back_has_to_make_a_new_one(people):
    token = feeds.make_feed(membership=people.ana, now=NOW)
    services.remove_member(membership=people.ana, by=people.owner, now=NOW)
    assert feeds.holder(token) is None
    link = services.invite(by=people.coach, now=NOW).token
    services.accept_invitation(token=link, user=people.ana.user, display_name="Ana", now=NOW)
    assert feeds.holder(token) is None


@pytest.mark.parametrize("how", ["left", "barred", "no account"])
def test_an_address_opens_only_while_its_holder_may_look(people, how):
    token = feeds.make_feed(membership=people.ana, now=NOW)
    if how == "left":
        people.ana.left_at = NOW
    elif how == "barred":
        people.ana.user.is_active = False
        people.ana.user.save()
    else:
        people.ana.user = None
    people.ana.save()
    assert feeds.holder(token) is None


def test_an_invitations_token_is_no_calendars(people):
    token = services.invite(by=people.coach, now=NOW).token
    assert Invitation.objects.count() == 1 and feeds.holder(token) is None


def test_the_page_shows_the_address_once_and_takes_it_back(client, people):
    client.force_login(people.ana.user)
    page = reverse("calendar")
    assert "You have no address yet." in client.get(page).content.decode()
    answer = client.post(page, {"act": "make"})
    address = re.search(
        r'value="(http://testserver/calendar/[^"]+\.ics)"', answer.content.decode()
    )[1]
    assert "no-store" in answer["Cache-Control"]
    assert client.get(address).status_code == 200
    again = client.get(page).content.decode()
    assert address not in again and "Your address works since" in again
    told = client.post(page, {"act": "revoke"}, follow=True).content.decode()
    assert "leads nowhere any more" in told and "You have no address yet." in told
    assert client.get(address).status_code == 404


def test_the_api_makes_tells_and_revokes(client, people):
    client.force_login(people.ana.user)
    page = reverse("api-calendar")
    assert client.get(page).json() == {"exists": False, "made_at": None}
    made = client.post(page)
    assert made.status_code == 201 and made.json()["exists"] is True
    address = made.json()["address"]
    assert client.get(address).status_code == 200
    told = client.get(page).json()
    assert told == {"exists": True, "made_at": made.json()["made_at"]}
    assert client.delete(page).status_code == 204 == client.delete(page).status_code
    assert client.get(address).status_code == 404
    assert client.get(page).json()["exists"] is False


def test_the_api_changes_the_time_zone_and_leaves_it_when_it_is_not_sent(client, people):
    client.force_login(people.ana.user)

    def patch(sent):
        return client.patch(reverse("api-me"), sent, content_type="application/json")

    assert patch({"timezone": "Asia/Tokyo"}).json()["membership"]["timezone"] == "Asia/Tokyo"
    assert patch({"shown_as": "initials"}).json()["membership"]["timezone"] == "Asia/Tokyo"
    assert patch({"timezone": "Mars/Base"}).status_code == 422
    assert patch({"timezone": ""}).json()["membership"]["timezone"] == ""
