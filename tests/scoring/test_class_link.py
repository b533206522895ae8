"""Briefing members: the link with its words, the big screen, the sheet on one A4."""

import html
import re

import pytest
from django.urls import reverse

from members import qr
from scoring.core.course import Course
from scoring.core.credits import CreditTable
from scoring.core.scoring import Rules
from scoring.mapping import prescription
from scoring.pages.course_rows import LABEL, WIDTH, course_rows
from scoring.pages.screen_fit import LARGER, SIZES, Briefed, lines, steps, whole
from scoring.selectors.briefing import STOP, offered, parts, standards

from ..conftest import TWO_LADDERS
from .classes import make_class
from .test_briefing import WHOLE

LONG = "Long one\ncap 60:00\n" + "".join(
    f"\n{n} rounds\n10 goblet squat @ 20 kg\n10 hollow rock\n  or tuck rock, credit 0.75\n"
    "10 hand-release push-up\n  or knee push-up, credit 0.7\n10 burpee\n10 reverse lunge\n"
    for n in range(2, 9)
)


def read(answer):
    return " ".join(html.unescape(answer.content.decode()).split())


def get(client, who, name, streamed, **query):
    client.force_login(who.user)
    return client.get(reverse(name, args=[streamed.pk]), query)


def test_the_link_is_the_classs_address_as_text_and_as_a_picture(client, people):
    streamed = make_class(people)
    told = read(get(client, people.coach, "class-link", streamed))
    address = f"http://testserver{reverse('class', args=[streamed.pk])}"
    assert f'value="{address}"' in told and qr.picture(address).path in told
    assert "Two ladders and a tide, Tuesday 24 November, 18:30 (Europe/Lisbon time)" in told
    assert "the clock stops at 18:00. Have ready: dumbbell or kettlebell" in told
    assert "This is a draft" not in told


def test_the_words_to_post_carry_what_the_coach_says_to_the_members(client, people):
    streamed = make_class(people)
    assert "Bring water." not in read(get(client, people.coach, "class-link", streamed))
    streamed.note = "Bring water."
    streamed.save(update_fields=["note"])
    told = read(get(client, people.coach, "class-link", streamed))
    assert ". Bring water. Workout, options" in told


def test_from_the_page_of_a_class_all_that_a_coach_needs_is_one_step_away(client, people):
    for is_open in (False, True):
        streamed = make_class(people, is_open=is_open)
        told = read(get(client, people.coach, "class-manage", streamed))
        for name in ("class-link", "class-screen"):
            assert f'href="{reverse(name, args=[streamed.pk])}"' in told
        assert "/coach/week/?week=2026-W48" in told
        assert (f"{reverse('follow-up')}?class={streamed.pk}" in told) is is_open


def test_a_draft_says_that_the_link_opens_later(client, people):
    streamed = make_class(people, is_open=False)
    assert "This is a draft" in read(get(client, people.coach, "class-link", streamed))


def briefed(text):
    workout = prescription(text)
    course = Course(workout)
    return Briefed(
        workout.title,
        tuple(parts(workout).workout.splitlines()),
        tuple(offered(course, Rules(table=CreditTable()))),
        tuple(standards(workout)),
        course_rows(course),
        STOP,
    )


def test_a_usual_workout_fits_on_one_screen_and_a_long_one_does_not():
    assert whole(briefed(WHOLE)).size >= 31
    assert whole(briefed(WHOLE)).percent in LARGER
    assert whole(briefed(LONG)) is None


@pytest.mark.parametrize("text", [WHOLE, TWO_LADDERS, LONG])
def test_steps_show_all_of_it_once_and_in_larger_type(text):
    told = briefed(text)
    found = steps(told)
    shown = [line for step in found for block in step.board for line in block]
    assert shown == [line for line in told.board if line]
    assert [step.has_rows for step in found].count(True) == 1
    assert tuple(row for step in found for row in step.standards) == told.standards
    assert tuple(row for step in found for row in step.offered) == told.offered
    assert {step.size for step in found} <= set(SIZES)
    one = whole(told)
    assert one is None or all(step.size > one.size for step in found)


def test_a_block_longer_than_a_screen_is_broken_and_nothing_of_it_lost():
    long = "X\ncap 60:00\n\n2 rounds\n" + "".join(f"{n} air squat\n" for n in range(1, 51))
    shown = [line for step in steps(briefed(long)) for block in step.board for line in block]
    assert shown == long.splitlines()[3:]


def test_a_line_that_is_longer_takes_more_lines():
    assert [lines("x" * n, 10, 0.5) for n in (0, 20, 21, 41)] == [1, 1, 2, 3]


def test_rows_fill_their_width_to_the_scale_of_time():
    # 18, 12 and 6 goblet squats beside as many hollow rocks, by usual seconds a rep.
    rows = course_rows(Course(prescription(TWO_LADDERS)))
    assert [row.label for row in rows.rows] == ["18-12-6", "14-10-6", "each round"]
    first = rows.rows[0].bars
    assert first[0].x == LABEL and first[-1].x + first[-1].width == WIDTH
    assert [bar.told for bar in first[:2]] == ["18 goblet squat", "18 hollow rock"]
    assert first[0].width == pytest.approx(3 * first[4].width, abs=3)
    assert "12 sit-up" in rows.told


@pytest.mark.parametrize(
    ("text", "labels"),
    [
        ("X\n\nevery 1:00 for 10 rounds\n5 burpee\nmax push-up\n", ["each 1:00"]),
        ("X\ncap 9:00\n\n5 rounds\n5 burpee\n", ["5 rounds of"]),
        ("X\ncap 9:00\n\nfor time\n50 burpee\n", ["once"]),
        ("X\n\nmax load, 3 reps\nback squat\n", []),
        ("Easy\n\n3 rounds, not scored\n10 air squat\n", []),
    ],
)
def test_every_kind_of_workout_has_rows_or_none_and_a_screen(client, people, text, labels):
    streamed = make_class(people, text)
    rows = course_rows(Course(prescription(text)))
    assert [row.label for row in rows.rows] == labels
    assert all(bar.width > 0 for row in rows.rows for bar in row.bars)
    for name in ("class-screen", "class-sheet"):
        answer = get(client, people.coach, name, streamed)
        assert answer.status_code == 200 and "Stop at once" in read(answer)


def test_the_screen_holds_all_of_a_usual_class(client, people):
    streamed = make_class(people, WHOLE)
    told = read(get(client, people.ana, "class-screen", streamed))
    for said in (
        "cap 18:00",
        "goblet squat @ 20 kg",
        "tuck rock in place of hollow rock: <strong>0.75</strong>",
        "<strong>burpee</strong>:",
        "Stop at once and get help",
        f"testserver{reverse('class', args=[streamed.pk])}",
        "The link to the class as a QR picture",
    ):
        assert said in told, said
    assert "10 air squat" not in told  # the warm-up is done with the coach


def test_what_is_too_long_comes_in_steps_that_lead_on(client, people):
    streamed = make_class(people, LONG)
    first = read(get(client, people.coach, "class-screen", streamed))
    assert 'href="?step=2">Next' in first and "All on one" not in first
    second = read(get(client, people.coach, "class-screen", streamed, step="2"))
    assert 'href="?step=1">Before' in second
    last = len(re.findall(r'href="\?step=\d"[^>]*><span', first))
    final = read(get(client, people.coach, "class-screen", streamed, step=str(last)))
    assert "A good rep" in final and ">Next<" not in final
    odd = read(get(client, people.coach, "class-screen", streamed, step="99"))
    assert 'aria-current="page"><span class="away">Screen </span>1</a>' in odd


def test_the_sheet_holds_all_a_coach_needs(client, people):
    streamed = make_class(people, WHOLE, note="Bring water.")
    told = read(get(client, people.coach, "class-sheet", streamed))
    for said in (
        "Warm-up", "10 air squat", "Cool-down", "1:00 plank", "Bring water.", "cap 18:00",
        "tuck rock in place of hollow rock: <strong>0.75</strong>", "Gear:</strong>",
        "A good rep", "Stop at once and get help", "as a QR picture",
    ):  # fmt: skip
        assert said in told, said
    assert re.search(r'aria-label="The course\. 18-12-6: 18 goblet squat', told)
