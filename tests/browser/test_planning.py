"""A coach plans a class in a browser: the preview follows the text, options go into it."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse

from scoring.models import StreamedClass

from ..conftest import FOR_TIME, make_people
from ..scoring.classes import log
from ..scoring.test_planning import held, pulls
from .steps import too_wide, watch_console

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
sizes = pytest.mark.parametrize("width", [390, 1280])
scripted = pytest.mark.parametrize("javascript", [True, False], ids=["js", "no js"])


@sizes
@scripted
def test_a_class_is_written_previewed_and_given_an_option(look, width, javascript):
    people = make_people()
    page = look(people.coach, width, javascript)
    faults = watch_console(page)
    page.goto(reverse("class-new"))
    page.get_by_label("The workout, as on a board").fill(FOR_TIME)
    page.get_by_label("A word to the members").fill("bring a mat")
    if not javascript:
        page.get_by_role("button", name="Preview").click()
    page.get_by_role("img", name=re.compile("The course by time")).wait_for()
    page.get_by_text("2 movements have no easier option").wait_for()
    page.get_by_text("Options you could add").click()
    page.get_by_role("button", name="Add or air squat to goblet squat").click()
    page.get_by_text("Added to the text: or air squat").wait_for()
    text = page.get_by_label("The workout, as on a board")
    assert "goblet squat @ 20 kg\n  or air squat\n" in text.input_value()
    assert page.get_by_label("A word to the members").input_value() == "bring a mat"
    # Who works by keyboard or by ear is where the answer is.
    assert "Added" in page.evaluate("document.activeElement.textContent")
    page.get_by_text("single-arm row has no easier option").wait_for()
    assert not too_wide(page)
    page.get_by_role("button", name="Save the draft").click()
    page.wait_for_url("**/coach/classes/*/")
    assert "or air squat" in StreamedClass.objects.get().workout.text
    assert faults == []


@sizes
def test_enter_in_a_field_previews_and_adds_nothing(look, width):
    people = make_people()
    page = look(people.coach, width)
    page.goto(reverse("class-new"))
    page.get_by_label("The workout, as on a board").fill(FOR_TIME)
    page.get_by_text("2 movements have no easier option").wait_for()
    page.get_by_label(re.compile("Ties are broken")).press("Enter")
    page.wait_for_load_state()
    assert page.get_by_label("The workout, as on a board").input_value() == FOR_TIME
    assert page.get_by_text("Added to the text").count() == 0
    assert StreamedClass.objects.count() == 0


def test_the_preview_stands_right_below_the_text_on_a_phone(look):
    people = make_people()
    page = look(people.coach, 390)
    page.goto(reverse("class-new"))
    tops = [
        page.locator(place).bounding_box()["y"]
        for place in ("#text", "#preview", "#id-starts_at", "button[name=save]")
    ]
    assert tops == sorted(tops)


@sizes
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_a_plan_with_all_its_remarks(look, width, scheme):
    people = make_people()
    log(held(people, pulls(4), 3), people.ana, "15:00")
    page, axe = look(people.coach, width), Axe()
    page.emulate_media(color_scheme=scheme)
    page.goto(reverse("class-new"))
    page.get_by_label("It starts at").fill("2026-11-24T18:30")
    page.get_by_label("The workout, as on a board").fill(
        pulls(15).replace(", credit 0.6", "") + "\nrest 1:00\n\n9-5\nreverse lunge, alternating\n"
    )
    page.get_by_text("Caution: 150 pull-up").wait_for()
    page.evaluate("() => document.querySelectorAll('details').forEach((d) => { d.open = true })")
    violations = axe.run(page).response["violations"]
    assert [(v["id"], v["nodes"][0]["html"][:90]) for v in violations] == []
    assert not too_wide(page)
