"""What a member does besides logging: gear, asking, progress; by keyboard, and without script."""

import pytest
from django.urls import reverse

from scoring.models import Fact
from scoring.services.classes import close_class
from scoring.services.pains import tell_pain

from ..conftest import NOW, make_people
from ..scoring.classes import log, make_class
from .steps import axe_faults, watch_console

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
scripted = pytest.mark.parametrize("javascript", [True, False], ids=["js", "no js"])


@scripted
def test_gear_told_once_is_a_log_filled_in(look, javascript):
    people = make_people()
    streamed = make_class(people)
    page = look(people.ana, javascript=javascript)
    faults = watch_console(page)
    page.goto(reverse("profile"))
    page.get_by_role("link", name="My gear at home").click()
    page.get_by_role("checkbox", name="kettlebell", exact=True).check()
    page.get_by_label("Kettlebell", exact=True).last.fill("8, 12")
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Class pages show your version now").wait_for()
    page.goto(reverse("class", args=[streamed.pk]))
    page.get_by_text("goblet squat @ 12 kg").first.wait_for()
    page.goto(reverse("class-log", args=[streamed.pk]))
    page.get_by_label("Full rounds").fill("2")
    page.get_by_role("button", name="Send my result").click()
    page.wait_for_url("**/results/*/")
    assert "goblet squat @ 12 kg" in Fact.objects.get().options
    assert faults == []


@scripted
def test_after_the_close_one_asks_and_reads_the_answer(look, javascript):
    people = make_people()
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    close_class(streamed_class=streamed, by=people.coach, now=NOW)
    page = look(people.ana, javascript=javascript)
    page.goto(reverse("history"))
    page.get_by_role("link", name="Two ladders and a tide").first.click()
    page.get_by_role("link", name="Ask for a change").click()
    page.get_by_label("Full rounds").fill("3")
    page.get_by_label("Why").fill("I forgot a round")
    page.get_by_role("button", name="Ask my coach").click()
    page.get_by_text("has not answered yet").wait_for()
    coach = look(people.coach, width=1280, javascript=javascript)
    coach.goto("/")
    coach.get_by_role("link", name="Ana Sol, Two ladders").click()
    coach.get_by_label("A word to them").fill("Right, I saw it")
    coach.get_by_role("button", name="Accept what Ana Sol asks for").click()
    coach.get_by_text("result is changed").wait_for()
    page.reload()
    page.get_by_text("Right, I saw it").wait_for()
    assert Fact.objects.latest("number").mark == "3+9"


def test_a_result_is_logged_by_keyboard_alone(look):
    people = make_people()
    streamed = make_class(people)
    page = look(people.ana)
    page.goto(reverse("class-log", args=[streamed.pk]))

    def tab_to(name):
        for _ in range(120):
            page.keyboard.press("Tab")
            if (
                page.evaluate(
                    "document.activeElement.name || document.activeElement.textContent.trim()"
                )
                == name
            ):
                return
        raise AssertionError(f"{name} is not reached by Tab")

    tab_to("rounds-3")
    page.keyboard.type("2")
    tab_to("reps")
    page.keyboard.type("9")
    tab_to("Send my result")
    page.keyboard.press("Enter")
    page.wait_for_url("**/results/*/")
    assert Fact.objects.get().mark == "2+9"


def test_axe_finds_nothing_on_the_members_pages(look):
    people = make_people()
    streamed, closed = make_class(people), make_class(people)
    result = log(closed, people.ana, "2+9", "tuck rock", effort=7).result
    log(streamed, people.ana, "2+10", unbroken={"1.1": 12})
    tell_pain(streamed_class=closed, member=people.ana, areas=["knee"], words="ouch", now=NOW)
    close_class(streamed_class=closed, by=people.coach, now=NOW)
    page = look(people.ana)
    addresses = [
        reverse(name) for name in ("progress", "setup", "profile", "device-list", "history")
    ]
    addresses += [reverse("class-log", args=[c.pk]) for c in (streamed, closed)]
    addresses += [reverse("result", args=[result.pk]), reverse("class", args=[streamed.pk])]
    assert axe_faults(page, addresses) == {}
