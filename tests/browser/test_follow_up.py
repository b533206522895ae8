"""A coach follows up on a phone and at a desk: a pain first, a word sent, one put off."""

from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django.utils import timezone

from scoring.models import FollowUp, FollowUpLetter
from scoring.services.classes import create_class, open_class
from scoring.services.pains import tell_pain

from ..conftest import TWO_LADDERS, add_member, make_people
from ..scoring.classes import log
from ..scoring.mail import prove
from .steps import too_wide, watch_console

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def an_evening(people):
    now = timezone.now()
    at = now - timedelta(hours=2)
    made = create_class(gym=people.gym, coach=people.coach, starts_at=at, text=TWO_LADDERS)
    made = open_class(streamed_class=made, by=people.coach, now=at)
    log(made, people.ana, "2+9", effort=10)
    log(made, people.ben, "3+9")
    long_name = add_member(people.gym, "Maximiliana Featherstonehaugh-Wolfeschlegelstein")
    log(made, long_name, "block 2 / 10 / hand-release push-up / 6")
    tell_pain(streamed_class=made, member=people.ana, areas=["knee"], words="ouch", now=now)
    return made


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("javascript", [True, False], ids=["js", "no js"])
def test_a_word_is_written_one_is_done_and_one_put_off(look, width, javascript):
    people = make_people()
    an_evening(people)
    prove(people.ben)
    page = look(people.coach, width=width, javascript=javascript)
    faults = watch_console(page)
    page.goto(reverse("follow-up"))
    assert page.locator("main h3").first.inner_text() == "Ana Sol"
    page.get_by_text("Said after Two ladders and a tide").wait_for()
    assert not too_wide(page)

    page.get_by_role("link", name="Write to Ben Okoro: first class").click()
    words = page.get_by_label("Your words")
    assert "Hello Ben," in words.input_value()
    words.fill("Well begun, Ben.")
    assert not too_wide(page)
    page.get_by_role("button", name="Send by e-mail").dblclick()
    page.get_by_text("on their way").wait_for()
    assert FollowUpLetter.objects.count() == 1

    page.get_by_role("button", name="Done, Ana Sol: effort of 10").click()
    page.get_by_text("Done: Ana Sol").wait_for()
    page.get_by_label("Not now, Ana Sol: first class").click()
    page.get_by_role("button", name="Later, Ana Sol: first class").click()
    page.get_by_text("Ana Sol, first class: on the list again from").wait_for()
    page.get_by_text("Put away, and lately done").click()
    page.get_by_role("button", name="Take back, Ana Sol: first class").click()
    page.get_by_text("Taken back: Ana Sol").wait_for()
    assert FollowUp.objects.count() == 4
    assert faults == []


@pytest.mark.parametrize("width", [390, 1280])
def test_who_has_no_address_gets_words_to_copy(look, width):
    people = make_people()
    an_evening(people)
    page = look(people.coach, width=width)
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.goto(reverse("follow-up-write", args=[people.ana.pk]))
    assert page.get_by_role("button", name="Send by e-mail").count() == 0
    page.get_by_role("button", name="Make it ready to copy").click()
    page.get_by_role("button", name="Copy", exact=True).click()
    page.get_by_text("Copied.").wait_for()
    assert "physiotherapist" in page.evaluate("navigator.clipboard.readText()")
    page.get_by_role("button", name="I told them: done").click()
    page.get_by_text("Done: Ana Sol, something hurts").wait_for()


def test_axe_finds_nothing_and_every_button_is_large_enough(look):
    people = make_people()
    streamed = an_evening(people)
    prove(people.ben)
    page, found, axe = look(people.coach), {}, Axe()
    addresses = [
        reverse("follow-up"),
        reverse("follow-up") + f"?class={streamed.pk}",
        reverse("follow-up-words"),
        reverse("follow-up-write", args=[people.ana.pk]),
        reverse("follow-up-write", args=[people.ben.pk]),
    ]
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        for address in addresses:
            page.goto(address)
            page.evaluate(
                "() => document.querySelectorAll('details').forEach((d) => { d.open = true })"
            )
            assert not too_wide(page), address
            violations = axe.run(page).response["violations"]
            if violations:
                found[scheme, address] = [(v["id"], v["nodes"][0]["html"][:90]) for v in violations]
    assert found == {}
