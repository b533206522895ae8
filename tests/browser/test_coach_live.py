"""A coach after the class: one line each, who is missing, what is asked; with and without
JavaScript, on a phone and on a desk."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse

from scoring.models import Fact, Score
from scoring.services.pains import tell_pain

from ..conftest import NOW, add_member, make_people
from ..scoring.classes import log, make_class
from .steps import too_wide, watch_console

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
scripted = pytest.mark.parametrize("javascript", [True, False], ids=["js", "no js"])
sized = pytest.mark.parametrize("width", [390, 1280])


@scripted
@sized
def test_a_coach_logs_for_three_and_undoes_one(look, width, javascript):
    people = make_people()
    add_member(people.gym, "Ana Lund")
    streamed = make_class(people)
    page = look(people.coach, width=width, javascript=javascript)
    faults = watch_console(page)
    page.goto(reverse("class-manage", args=[streamed.pk]))
    field = page.get_by_label("Name, mark, and what was done otherwise")
    field.fill("ben 2+9 tuck, knee")
    field.press("Enter")
    page.get_by_text("tuck rock, knee push-up").first.wait_for()
    assert not too_wide(page)
    # A name of the missing goes into the line.
    page.locator("#others summary").click()
    page.get_by_role("button", name="Cleo Wren").click()
    page.wait_for_function("document.getElementById('line').value === 'Cleo Wren '")
    field.press("End")
    field.press_sequentially("3+0")
    field.press("Enter")
    page.locator("#line-done", has_text="Cleo Wren").wait_for()
    # Of two one is asked.
    field.fill("ana 1+1")
    field.press("Enter")
    page.get_by_label("Ana Lund").check()
    assert field.input_value() == "ana 1+1" and not too_wide(page)
    page.get_by_role("button", name="Log it so").click()
    page.locator("#line-done", has_text="Ana Lund").wait_for()
    page.get_by_role("button", name="Undo Ana Lund's result").click()
    page.get_by_text("Undone: Ana Lund's result is off the board.").wait_for()
    names = set(Score.objects.values_list("result__member__display_name", flat=True))
    assert names == {"Ben Okoro", "Cleo Wren"} and faults == []


@scripted
@sized
def test_a_question_is_answered_and_a_mark_corrected(look, width, javascript):
    people = make_people()
    streamed = make_class(people)
    log(streamed, people.ana, "48+0")
    log(streamed, people.ben, "49+0")
    tell_pain(streamed_class=streamed, member=people.cleo, areas=["knee"], words="ouch", now=NOW)
    page = look(people.coach, width=width, javascript=javascript)
    page.goto(reverse("class-manage", args=[streamed.pk]))
    assert page.get_by_text("Cleo Wren: knee").is_visible() and not too_wide(page)
    page.get_by_role("button", name="Ana Sol's result looks right").click()
    page.get_by_text("Ana Sol's result stays as it is.").wait_for()
    page.get_by_role("link", name="Correct Ben Okoro's result").click()
    page.get_by_label("Mark").fill("4+0")
    page.get_by_label("Reason").fill("a slip of the thumb")
    assert not too_wide(page)
    page.get_by_role("button", name="Correct", exact=True).click()
    page.get_by_text("both stay on record").wait_for()
    assert page.get_by_text("Is this right?").count() == 0
    assert Fact.objects.latest("number").mark == "4+0"


def test_what_comes_in_is_shown_said_and_disturbs_nobody(look):
    people = make_people()
    streamed = make_class(people)
    page = look(people.coach, width=1280)
    page.goto(reverse("class-manage", args=[streamed.pk]))
    part = page.locator("#live-part")
    renew = """() => { const part = document.getElementById('live-part');
        return htmx.ajax('GET', part.getAttribute('hx-get'), {source: part, target: part}); }"""
    field = page.get_by_label("Name, mark, and what was done otherwise")
    field.fill("half a li")
    page.locator("#others summary").click()
    log(streamed, people.ana, "2+9")
    page.evaluate(renew)
    part.get_by_role("link", name="Ana Sol", exact=True).wait_for()
    assert "Ana Sol, 2+9" in page.locator("#live-said").inner_text()
    # What was typed, opened and focused is as it was.
    assert field.input_value() == "half a li"
    assert page.locator("#others").get_attribute("open") is not None
    # Unchanged, nothing is put in place anew.
    page.evaluate("() => document.querySelector('#live-part h2').setAttribute('data-same', '1')")
    page.evaluate(renew)
    assert page.locator("#live-part h2[data-same]").count() == 1


def test_axe_finds_nothing_on_the_coachs_pages(look):
    people = make_people()
    add_member(people.gym, "Ana Lund")
    streamed = make_class(people)
    result = log(streamed, people.ben, "48+0", "tuck rock", effort=10).result
    tell_pain(streamed_class=streamed, member=people.cleo, areas=["chest"], words="", now=NOW)
    page, found, axe = look(people.coach), {}, Axe()
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        for address in (
            reverse("class-manage", args=[streamed.pk]),
            reverse("class-log-for", args=[streamed.pk]),
            reverse("result-correct", args=[result.pk]),
        ):
            page.goto(address)
            page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true })")
            if address.endswith(f"classes/{streamed.pk}/"):
                page.get_by_label("Name, mark").fill("ana 3 tuk rok")
                page.keyboard.press("Enter")
                page.get_by_text("Whose result is it?").wait_for()
            violations = axe.run(page).response["violations"]
            if violations:
                found[scheme, address] = [(v["id"], v["nodes"][0]["html"][:90]) for v in violations]
    assert found == {}
