"""A coach changes a credit, sees who would move, accepts it and takes it back."""

import pytest
from django.urls import reverse

from ..conftest import make_people
from ..scoring.classes import log, make_class
from ..scoring.credit_scenes import ROCKS, boards
from .steps import axe_faults, too_wide, watch_console

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def a_class():
    people = make_people()
    streamed = make_class(people, ROCKS)
    log(streamed, people.ana, "9+0")
    log(streamed, people.ben, "10+0", "tuck rock")
    return people, streamed


@pytest.mark.parametrize("javascript", [True, False], ids=["js", "no js"])
@pytest.mark.parametrize("width", [390, 1280])
def test_a_credit_is_changed_accepted_and_undone(look, width, javascript):
    people, _ = a_class()
    before = boards()
    page = look(people.coach, width=width, javascript=javascript)
    faults = watch_console(page)
    page.goto(reverse("credits"))
    assert not too_wide(page)
    page.get_by_label("New credit of tuck rock for hollow rock").fill("0.95")
    page.get_by_role("textbox", name="Why").fill("tuck rocks are hard")
    page.get_by_role("button", name="Show who would move").click()
    page.get_by_text("1 result with another score").wait_for()
    assert boards() == before and not too_wide(page)
    page.get_by_role("link", name="Rocks").click()
    page.get_by_text("2 → 1").wait_for()
    assert not too_wide(page)
    page.get_by_role("link", name="The change of credits").click()
    page.get_by_role("button", name="Accept").click()
    page.get_by_text("It made version 2").wait_for()
    assert boards() != before
    page.get_by_role("textbox", name="Why").fill("they were right")
    page.get_by_role("button", name="Show who would move back").click()
    page.get_by_role("button", name="Accept").click()
    page.get_by_text("It made version 3").wait_for()
    assert boards() == before and faults == []
    page.get_by_role("link", name="All versions").click()
    page.get_by_text("they were right").wait_for()
    assert not too_wide(page)


@pytest.mark.parametrize("width", [390, 1280])
def test_work_that_is_left_goes_on_when_its_page_is_opened_again(look, width, monkeypatch):
    from scoring import tasks
    from scoring.services import recompute

    people, _ = a_class()
    page = look(people.coach, width=width)
    page.goto(reverse("credits"))
    page.get_by_label("New credit of tuck rock for hollow rock").fill("0.95")
    page.get_by_role("textbox", name="Why").fill("tuck rocks are hard")
    page.get_by_role("button", name="Show who would move").click()
    page.get_by_role("button", name="Accept").wait_for()
    address = page.url
    monkeypatch.setattr(recompute, "CHUNK", 1)
    monkeypatch.setattr(tasks, "CREDIT_STEPS", 1)
    page.get_by_role("button", name="Accept").click()
    page.goto(reverse("credits"))
    page.goto(address)
    page.get_by_text("It made version 2").wait_for()
    page.get_by_text("Undo it").wait_for()


def test_axe_finds_nothing_on_the_pages_of_credits(look):
    from ..scoring.credit_scenes import ask, done, shown
    from ..scoring.past_classes import held_class, made

    people, streamed = a_class()
    change = done(people, ask(people))
    preview = shown(ask(people, ("hollow rock", "tuck rock", "0.9")))
    left = ask(people, ("hollow rock", "tuck rock", "0.85"))
    page = look(people.coach)
    # What is left stays so: its page may not ask for more.
    page.route(
        "**/changes/*/", lambda r: r.abort() if r.request.method == "POST" else r.continue_()
    )
    held_class(people, 1)
    made(people.gym)
    addresses = [reverse("credits"), reverse("credits-history"), reverse("estimates")]
    addresses += [reverse("credit-change", args=[c.pk]) for c in (change, preview, left)]
    addresses += [reverse("credit-change-class", args=[change.pk, streamed.pk])]
    assert axe_faults(page, addresses) == {}
