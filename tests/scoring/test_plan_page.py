"""The planning page without JavaScript: seen, added to, and nothing lost of what was typed."""

import html
import re
from datetime import timedelta

import pytest
from django.urls import reverse

from scoring.models import StreamedClass

from ..conftest import FOR_TIME, NOW, TWO_LADDERS
from .classes import log
from .test_pages import sign_in, text_of  # noqa: F401 - a fixture
from .test_planning import held, pulls

SENT = {
    "text": FOR_TIME.replace("14-10-6", "15-9-3"),
    "starts_at": "2026-12-01T18:30",
    "closes_at": "2026-12-02T18:30",
    "note": "bring a mat",
    "tie_break_block": "1",
    "weighted": "on",
}


def test_a_plan_is_shown_by_time_with_reps_sides_gear_and_remarks(people, sign_in):  # noqa: F811
    page = text_of(sign_in(people.coach).post(reverse("class-new"), {**SENT, "preview": "1"}))
    for said in (
        "cap 14:00",
        "Block 1: 18-12-6: 0:00 to",
        "goblet squat 36",
        "14 + 13",
        "the other side gets the odd rep in rung of 9",
        "dumbbell or kettlebell: goblet squat, single-arm row",
        "2 movements have no easier option",
        "By pattern: core 36, squat 36,",
    ):
        assert said in page, said


def test_warm_up_and_cool_down_are_read_and_shown_apart(people, sign_in):  # noqa: F811
    client = sign_in(people.coach)
    example = re.search(
        r'<pre class="board sheet">(.*?)</pre>',
        client.get(reverse("class-new")).content.decode(),
        re.S,
    )
    text = html.unescape(example[1])
    page = text_of(client.post(reverse("class-new"), {**SENT, "text": text, "preview": "1"}))
    assert "can&#x27;t be read" not in page and "not in the catalogue" not in page
    assert "Warm-up 2 rounds, not scored 10 air squat" in page
    assert "Cool-down 1 round, not scored" in page


def add_button(page, words):
    """The value of the button that adds an option."""
    values = [html.unescape(v) for v in re.findall(r'name="add" value="([^"]*)"', page)]
    return next(value for value in values if words in value)


def test_an_option_is_added_by_a_button_and_nothing_typed_is_lost(people, sign_in):  # noqa: F811
    client = sign_in(people.coach)
    page = client.post(reverse("class-new"), {**SENT, "preview": "1"}).content.decode()
    value = add_button(page, "goblet squat: or air squat")
    answer = client.post(reverse("class-new"), {**SENT, "add": value})
    after = html.unescape(answer.content.decode())
    assert answer.status_code == 200 and StreamedClass.objects.count() == 0
    assert "goblet squat @ 20 kg\n  or air squat\nhollow rock" in after
    assert "Added to the text: or air squat" in after
    assert "bring a mat" in after and 'value="2026-12-02T18:30"' in after
    assert re.search(r'name="weighted"\s+checked', after)


def test_a_line_that_is_gone_meanwhile_is_said_so_with_the_text_still_there(people, sign_in):  # noqa: F811
    client = sign_in(people.coach)
    for value in ("1.1 box jump: or step-up", "1.1 goblet squat: 20 burpee", "x", ""):
        answer = client.post(reverse("class-new"), {**SENT, "add": value})
        assert answer.status_code == 422
        assert "goblet squat @ 20 kg" in answer.content.decode()
    broken = {**SENT, "text": "Bad\n\n5 rouns\n10 burpee", "add": "1.1 burpee: or squat thrust"}
    answer = client.post(reverse("class-new"), broken)
    assert answer.status_code == 422 and "Line 3" in text_of(answer)
    assert "5 rouns" in answer.content.decode()


def test_the_live_part_answers_with_the_text_it_changed(people, sign_in):  # noqa: F811
    client = sign_in(people.coach)
    live = reverse("workout-preview")
    page = client.post(live, SENT).content.decode()
    assert 'id="preview-said"' in page and "<textarea" not in page and "<form" not in page
    value = add_button(page, "goblet squat: or air squat")
    changed = client.post(live, {**SENT, "add": value}).content.decode()
    assert 'hx-swap-oob="true"' in changed and "  or air squat\n" in changed
    refused = client.post(live, {**SENT, "add": "9.9 box jump: or step-up"})
    assert refused.status_code == 200 and "That could not be added" in text_of(refused)


def test_a_jump_in_volume_is_a_caution_with_the_words_on_muscle(people, sign_in):  # noqa: F811
    log(held(people, pulls(4), 3), people.ana, "15:00")
    page = text_of(
        sign_in(people.coach).post(
            reverse("class-new"),
            {**SENT, "tie_break_block": "", "text": pulls(15), "preview": "1"},
        )
    )
    assert "Caution: 150 pull-up is 3.8 times the average of 40 a class here." in page
    assert "Dark urine" in page and "licensed" in page


@pytest.mark.parametrize(
    "text",
    [
        TWO_LADDERS,
        "Heavy\n\nmax load, 3 reps\nback squat\n",
        "Bells\n\nevery 1:00 for 10 rounds\n8 burpee\nmax sit-up\n",
        "Calm\n\n2 rounds, not scored\n0:30 plank\n",
        "Long\ncap 6:00:00\n\n5000 rounds\n1 burpee\n",
        "Tiny\n\namrap 6:00:00\n1 jumping jack\n",
        "Rests\ncap 9:00\n\n2 rounds\n9 burpee\n\nrest 1:00\n\namrap in the time left\n3 sit-up\n",
    ],
)
@pytest.mark.parametrize(
    "starts_at", ["2026-12-01T18:30", "", "0001-01-01T00:00", "9999-12-31T23:59"]
)
def test_every_kind_of_text_and_half_a_date_can_be_previewed(people, sign_in, text, starts_at):  # noqa: F811
    held(people, pulls(4), 3)
    sent = {"text": text, "starts_at": starts_at}
    answer = sign_in(people.coach).post(reverse("workout-preview"), sent)
    assert answer.status_code == 200 and "Gear" in text_of(answer)


def test_a_class_is_given_a_time_to_close_by_itself(people, sign_in):  # noqa: F811
    client = sign_in(people.coach)
    early = {**SENT, "closes_at": "2026-12-01T18:30"}
    answer = client.post(reverse("class-new"), early)
    assert answer.status_code == 422 and 'id="fault-closes_at"' in answer.content.decode()
    bad = client.post(reverse("class-new"), {**SENT, "closes_at": "soon"})
    assert bad.status_code == 422 and 'id="fault-closes_at"' in bad.content.decode()
    client.post(reverse("class-new"), SENT)
    made = StreamedClass.objects.get()
    # 18:30 in Lisbon in winter is 18:30 UTC.
    assert made.closes_at - made.starts_at == timedelta(days=1)
    edit = reverse("class-edit", args=[made.pk])
    assert 'value="2026-12-02T18:30"' in client.get(edit).content.decode()
    client.post(edit, {**SENT, "closes_at": ""})
    made.refresh_from_db()
    assert made.closes_at is None


def test_what_was_held_before_the_class_counts_and_what_is_held_after_does_not(people, sign_in):  # noqa: F811
    log(held(people, pulls(4), 3), people.ana, "15:00")
    client = sign_in(people.coach)
    sent = {"text": pulls(15), "starts_at": f"{NOW - timedelta(days=5):%Y-%m-%dT%H:%M}"}
    assert "Caution: 150" not in text_of(client.post(reverse("workout-preview"), sent))
    sent["starts_at"] = f"{NOW:%Y-%m-%dT%H:%M}"
    assert "Caution: 150" in text_of(client.post(reverse("workout-preview"), sent))
