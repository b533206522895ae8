"""A coach's week in a browser: planned, copied, briefed on screen and on paper."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django.utils import timezone

from scoring.models import StreamedClass
from scoring.services.planning import repeat_workout
from scoring.services.templates import save_template

from ..conftest import NOW, TWO_LADDERS, make_people
from ..scoring.classes import log, make_class
from ..scoring.test_briefing import WHOLE
from ..scoring.test_class_link import LONG
from .steps import too_wide, watch_console

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize(
    ("width", "javascript"), [(390, False), (1280, True)], ids=["phone, no js", "wide, js"]
)
def test_a_week_is_planned_from_what_was_done_before_and_copied(look, width, javascript):
    people = make_people()
    before = make_class(people)
    page = look(people.coach, width=width, javascript=javascript)
    faults = watch_console(page)
    page.goto(reverse("plan-week") + "?week=2026-W50")
    page.get_by_role("link", name="Add a class on Tuesday 8 December").click()
    page.get_by_label("What is done").select_option(f"workout-{before.workout_id}")
    page.get_by_label("It starts at").fill("18:00")
    page.get_by_role("button", name="Add it").click()
    page.get_by_text("is planned, as a draft").wait_for()
    page.get_by_role("link", name="Move Two ladders and a tide").click()
    page.get_by_label("Day").fill("2026-12-10")
    page.get_by_role("button", name="Move it").click()
    page.get_by_text("now on Thursday 10 December, 18:00").wait_for()
    page.get_by_role("link", name="Copy this week").click()
    page.get_by_label("Into the week").select_option("2026-W52")
    page.get_by_role("button", name="Show what would be made").click()
    page.get_by_text("Thursday 24 December, 18:00").wait_for()
    page.get_by_role("button", name="Make the ticked drafts").click()
    page.get_by_text("1 draft made").wait_for()
    page.get_by_role("link", name="Delete Two ladders and a tide").click()
    page.get_by_role("button", name="Delete the draft").click()
    page.get_by_text("is deleted").wait_for()
    page.get_by_role("link", name="Past workouts").click()
    page.get_by_label("Movement", exact=True).fill("goblet squats")
    page.get_by_role("button", name="Look").click()
    page.get_by_role("link", name="Repeat Two ladders and a tide to compare").click()
    page.get_by_label("Day").fill("2027-01-05")
    page.get_by_role("button", name="Plan it").click()
    page.get_by_text("is planned, as a draft").wait_for()
    assert not too_wide(page) and faults == []
    planned = StreamedClass.objects.filter(state="draft").order_by("starts_at")
    assert [f"{row.starts_at:%m-%d}" for row in planned] == ["12-10", "01-05"]


@pytest.mark.parametrize("width", [390, 1280])
def test_a_template_is_written_used_and_becomes_a_class(look, width):
    people = make_people()
    page = look(people.coach, width=width)
    faults = watch_console(page)
    page.goto(reverse("class-templates"))
    page.get_by_role("link", name="Write a template").click()
    page.get_by_label("Name").fill("Tuesday")
    page.get_by_label("The text").fill("Tuesday\ncap 9:00\n\n3 rounds\n10 (a push)\n")
    page.get_by_role("button", name="Keep the template").click()
    page.get_by_text("The template Tuesday is kept.").wait_for()
    page.get_by_role("link", name="Use Tuesday").click()
    board = page.get_by_label("The workout, as on a board")
    board.fill(board.input_value().replace("(a push)", "push-up"))
    page.get_by_role("button", name="Save the draft").click()
    page.get_by_text("Saved as a draft").wait_for()
    assert "10 push-up" in StreamedClass.objects.get().workout.text
    assert not too_wide(page) and faults == []


@pytest.mark.parametrize("text", [WHOLE, TWO_LADDERS, LONG], ids=["two", "three", "seven blocks"])
def test_a_screen_that_is_filmed_needs_no_scrolling(look, text):
    people = make_people()
    streamed = make_class(people, text)
    page = look(people.coach, javascript=False)
    page.set_viewport_size({"width": 1920, "height": 1080})
    address = reverse("class-screen", args=[streamed.pk])
    page.goto(address)
    links = page.get_by_role("link", name=re.compile(r"^(Screen )?\d+$"))
    seen = [address] + [f"{address}?step={n}" for n in range(1, links.count() + 1)]
    tall = {}
    for each in seen:
        page.goto(each)
        tall[each] = page.evaluate("document.documentElement.scrollHeight")
        assert page.evaluate(
            "Math.min(...[...document.querySelectorAll('main p, main li, main pre')]"
            ".map((e) => parseFloat(getComputedStyle(e).fontSize)))"
        ) >= 23  # fmt: skip
        picture = page.get_by_role("img", name="The link to the class as a QR picture")
        assert picture.bounding_box()["width"] >= 200
    assert {each: height for each, height in tall.items() if height > 1080} == {}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_screen_is_dark_whatever_the_window_is(look, scheme):
    people = make_people()
    page = look(people.coach)
    page.emulate_media(color_scheme=scheme)
    page.goto(reverse("class-screen", args=[make_class(people).pk]))
    ground = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert ground == "rgb(20, 25, 27)"
    assert not too_wide(page)


@pytest.mark.parametrize("text", [WHOLE, TWO_LADDERS], ids=["with a warm-up", "three blocks"])
def test_the_coachs_sheet_is_one_page_black_on_white(look, text):
    people = make_people()
    streamed = make_class(people, text, note="Bring water and a mat.")
    page = look(people.coach)
    page.goto(reverse("class-sheet", args=[streamed.pk]))
    page.emulate_media(media="print", color_scheme="dark")
    inks = page.evaluate(
        """() => [...document.querySelectorAll("main *")].filter((e) => e.checkVisibility())
            .flatMap((e) => e instanceof SVGElement && e.tagName !== "text"
                ? [] : [getComputedStyle(e)[e.tagName === "text" ? "fill" : "color"]])"""
    )
    assert set(inks) == {"rgb(0, 0, 0)"}
    paper = page.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", paper)) == 1


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (1280, "dark")])
def test_axe_finds_nothing_on_the_pages_of_the_plan(look, width, scheme):
    people = make_people()
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    draft = repeat_workout(
        workout=streamed.workout, by=people.coach, starts_at=NOW.replace(day=25), now=NOW
    )
    frame = save_template(by=people.coach, name="Frame", text="cap __", now=timezone.now())
    addresses = [reverse(n) for n in ("plan-add", "class-templates", "template-new")]
    addresses += [reverse("plan-week") + "?week=2026-W48", reverse("plan-week") + "?week=x"]
    addresses += [reverse("workout-search"), reverse("workout-search") + "?longest=x&movement=sqat"]
    addresses += [reverse("plan-copy") + "?week=2026-W48"]
    addresses += [reverse(n, args=[frame.pk]) for n in ("template-edit", "template-remove")]
    addresses += [reverse("workout-repeat", args=[streamed.workout_id])]
    names = ("class-move", "class-delete", "class-link", "class-screen", "class-sheet")
    addresses += [reverse(n, args=[draft.pk]) for n in names]
    page, axe, found = look(people.coach, width=width), Axe(), {}
    page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
    for address in addresses:
        page.goto(address)
        violations = axe.run(page).response["violations"]
        if violations or too_wide(page):
            found[address] = [(v["id"], v["nodes"][0]["html"][:90]) for v in violations] or "wide"
    assert found == {}
