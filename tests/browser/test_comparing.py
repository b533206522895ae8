"""A coach compares classes, opens a workout's runs and a member, and keeps a note."""

import pytest
from django.urls import reverse
from django.utils import timezone

from scoring.models import MemberNote
from scoring.services.notes import add_note
from scoring.services.pains import tell_pain

from ..conftest import NOW, add_member, make_people
from ..scoring.held import held
from .steps import axe_faults, too_wide, watch_console

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
widths = pytest.mark.parametrize("width", [390, 1280])


def a_gym():
    """Six members, three runs of a workout in the weeks before now."""
    people = make_people()
    members = [add_member(people.gym, f"Member {n}") for n in range(6)]
    back = (NOW - timezone.now()).days
    for days, minute in ((15, 10), (8, 9), (1, 8)):
        marks = {m: (f"{minute}:{n * 3:02}", "", 6 + n % 3) for n, m in enumerate(members)}
        marks[people.ana] = (f"{minute}:30", "1.2 tuck rock" if minute == 10 else "", 7)
        streamed = held(people, days + back, marks)
    tell_pain(streamed_class=streamed, member=people.ana, areas=["knee"], words="stairs", now=NOW)
    return people, streamed


@widths
def test_a_coach_compares_and_keeps_a_note(look, width):
    people, streamed = a_gym()
    page = look(people.coach, width=width, javascript=width == 1280)
    faults = watch_console(page)
    page.goto(reverse("compare"))
    page.get_by_label("By").select_option(label="day of the week")
    page.get_by_role("button", name="Compare").click()
    page.get_by_role("heading", name="All together").wait_for()
    assert page.locator("svg.interval").count() >= 2
    assert page.get_by_label("By").input_value() == "weekday"
    assert not too_wide(page)
    page.goto(reverse("workout-runs", args=[streamed.workout_id]))
    assert page.get_by_text("clearly faster").count() == 2
    assert not too_wide(page)
    page.goto(reverse("member-page", args=[people.ana.pk]))
    page.get_by_label("A new note").fill("asks about the knee first")
    page.get_by_role("button", name="Keep the note").click()
    page.get_by_text("The note is kept").wait_for()
    page.get_by_text("Strike it out").first.click()
    page.get_by_label("Why it is wrong").fill("it was Ben")
    page.get_by_role("button", name="Strike it out").click()
    page.get_by_text("Struck out by Carl Coach").wait_for()
    assert page.locator("del").inner_text() == "asks about the knee first"
    assert not too_wide(page) and faults == []
    assert MemberNote.objects.get().strike.why == "it was Ben"


@widths
def test_axe_finds_nothing_on_these_pages(look, width):
    people, streamed = a_gym()
    add_note(member=people.ana, by=people.coach, words="a note", now=NOW)
    page = look(people.coach, width=width)
    addresses = [f"{reverse('compare')}?by={by}" for by in ("class", "coach")]
    addresses += [f"{reverse('compare')}?from=never"]
    addresses += [reverse("workout-runs", args=[streamed.workout_id])]
    addresses += [reverse("member-page", args=[people.ana.pk])]
    assert axe_faults(page, addresses) == {}
