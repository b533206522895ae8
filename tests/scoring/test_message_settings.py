"""What a member wants by e-mail: their page, and stopping a message by its own link."""

from datetime import time

import pytest
from django.test import Client
from django.urls import reverse

from scoring.messages.links import unsubscribe_address, unsubscribe_token
from scoring.models import MessageKind, MessageSettings
from scoring.selectors.messages import message_settings_for

from .test_pages import text_of

SENT = {
    "kind": ["opened", "weekly"],
    "quiet_from": "22:30",
    "quiet_until": "06:15",
}


@pytest.fixture
def ana(client, people):
    client.force_login(people.ana.user)
    return client


def wanted(member):
    row = message_settings_for(member=member, viewer=member)
    return {kind.value for kind in MessageKind if row.wants(kind)}


def test_without_a_word_all_but_the_weekly_one_come_and_the_night_is_quiet(people):
    row = message_settings_for(member=people.ana, viewer=people.ana)
    assert wanted(people.ana) == {
        "opened", "reminder", "corrected", "answered", "closed", "follow_up",
    }  # fmt: skip
    assert (row.quiet_from, row.quiet_until) == (time(21), time(7))
    assert people.ana.zone.key == "Europe/Lisbon" and row.pk is None


def test_what_is_ticked_is_kept_and_stands_in_the_form_again(ana, people):
    assert ana.post(reverse("my-messages"), SENT).status_code == 302
    people.ana.refresh_from_db()
    assert wanted(people.ana) == {"opened", "weekly", "closed"}  # the last is not asked of her
    page = ana.get(reverse("my-messages"))
    ticked = {choice["value"] for choice in page.context["choices"] if choice["is_on"]}
    assert ticked == {"opened", "weekly"}
    for value in ("22:30", "06:15"):
        assert f'value="{value}"' in page.content.decode()


@pytest.mark.parametrize(
    "wrong",
    [
        {"quiet_from": "25:00"}, {"quiet_until": ""}, {"quiet_until": "07:00:30"},
        {"quiet_from": "٢١:٠٠"}, 
        {"kind": ["opened", "gossip"]},
    ],
)  # fmt: skip
def test_what_cannot_be_kept_is_told_and_nothing_is_changed(ana, people, wrong):
    answer = ana.post(reverse("my-messages"), SENT | wrong)
    assert answer.status_code == 422 and 'role="alert"' in answer.content.decode()
    people.ana.refresh_from_db()
    assert not MessageSettings.objects.exists()


def test_settings_are_nobody_elses(people):
    assert message_settings_for(member=people.ana, viewer=people.coach) is None
    assert message_settings_for(member=people.ana, viewer=None) is None


def test_an_unproven_address_is_told_of(ana, people):
    assert "not confirmed" in text_of(ana.get(reverse("my-messages")))
    people.ana.user.emailaddress_set.update(verified=True)
    assert "not confirmed" not in text_of(ana.get(reverse("my-messages")))


def test_the_profile_leads_there(ana):
    assert reverse("my-messages") in ana.get(reverse("profile")).content.decode()


def link(member, kind=MessageKind.REMINDER):
    return reverse("unsubscribe", args=[unsubscribe_token(member, kind)])


def test_opening_the_link_changes_nothing_its_button_stops_that_kind_alone(people):
    stranger = Client()
    page = stranger.get(link(people.ana))
    assert page.status_code == 200 and "<button" in page.content.decode()
    assert not MessageSettings.objects.exists()
    assert "Stopped" in text_of(stranger.post(link(people.ana)))
    assert wanted(people.ana) == {"opened", "corrected", "answered", "closed", "follow_up"}
    assert "reminder" in wanted(people.ben)


def test_a_mail_program_stops_it_in_one_request(people):
    # RFC 8058, section 3.1: a POST of this body, no cookies, no redirect in the answer.
    program = Client(enforce_csrf_checks=True)
    for _ in range(2):
        answer = program.post(
            link(people.ana),
            "List-Unsubscribe=One-Click",
            content_type="application/x-www-form-urlencoded",
        )
        assert answer.status_code == 200
    assert "reminder" not in wanted(people.ana)


def test_a_wrong_token_stops_nothing(people):
    token = unsubscribe_token(people.ana, MessageKind.REMINDER)
    other = unsubscribe_token(people.ben, MessageKind.OPENED)
    wrong = [
        token[:-1], token.replace("reminder", "opened"), "abc", "1-opened:abc",
        token.partition(":")[0] + ":" + other.partition(":")[2], "0", "x" * 500,
    ]  # fmt: skip
    for text in wrong:
        for method in ("get", "post"):
            answer = getattr(Client(), method)(reverse("unsubscribe", args=[text]))
            assert answer.status_code == 404, text
            assert "leads nowhere" in text_of(answer)
    assert not MessageSettings.objects.exists()


def test_the_page_of_a_forwarded_message_tells_no_name_and_no_address(people):
    shown = Client().get(link(people.ana)).content.decode()
    assert people.ana.display_name not in shown and people.ana.user.email not in shown


def test_the_address_is_whole(people, settings):
    settings.SITE_URL = "https://board.example.org/"
    address = unsubscribe_address(people.ana, MessageKind.WEEKLY)
    assert address.startswith("https://board.example.org/unsubscribe/")
