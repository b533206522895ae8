"""The page of one's gear, and what it changes on a class's pages."""

import pytest
from django.urls import reverse

from scoring.models import Fact, Setup

from .classes import make_class
from .test_pages import text_of

SENT = {
    "piece": ["kettlebell", "wall"],
    "loads-kettlebell": "12",
    "unit": "kg",
    "movement-0": "hollow rock",
    "usual-0": "tuck rock",
}


@pytest.fixture
def ana(client, people):
    client.force_login(people.ana.user)
    return client


def test_gear_told_once_fills_in_the_log(ana, people):
    streamed = make_class(people)
    page = text_of(ana.get(reverse("class", args=[streamed.pk])))
    assert "You have not said what gear you have" in page
    assert ana.post(reverse("setup"), SENT).status_code == 302
    page = text_of(ana.get(reverse("class", args=[streamed.pk])))
    assert "goblet squat @ 12 kg for goblet squat" in page and "A rep counts 0.8." in page
    form = ana.get(reverse("class-log", args=[streamed.pk])).context["form"]
    assert form.lines[0].own == "12" and form.lines[1].chips[1].is_picked
    # And what is filled in is what is logged.
    sent = {"key": "k", "rounds-3": "2", "reps": "9"}
    sent |= {f"own-{line.index}": line.own for line in form.chosen_lines}
    sent |= {
        f"opt-{line.index}": next(c.value for c in line.chips if c.is_picked)
        for line in form.chosen_lines
    }
    assert ana.post(reverse("class-log", args=[streamed.pk]), sent).status_code == 302
    assert "1.1 goblet squat @ 12 kg; 1.2 tuck rock" in Fact.objects.get().options


def test_what_was_told_stands_in_the_form_again(ana):
    ana.post(reverse("setup"), SENT)
    page = ana.get(reverse("setup"))
    has = {p["name"] for group in page.context["groups"] for p in group["pieces"] if p["has"]}
    assert has == {"kettlebell", "wall"}
    assert 'value="12"' in page.content.decode() and 'value="tuck rock"' in page.content.decode()


def test_what_cannot_be_kept_is_told_and_stays_typed(ana):
    answer = ana.post(reverse("setup"), SENT | {"loads-kettlebell": "a big one"})
    assert answer.status_code == 422 and "not a weight" in text_of(answer)
    assert 'value="a big one"' in answer.content.decode()
    assert not Setup.objects.exists()


def test_where_nothing_fits_nothing_is_chosen_and_one_must_say(ana, people):
    streamed = make_class(people)
    ana.post(reverse("setup"), {"piece": ["wall"], "unit": "kg"})
    page = reverse("class-log", args=[streamed.pk])
    form = ana.get(page).context["form"]
    assert form.lines[0].is_asked and not any(chip.is_picked for chip in form.lines[0].chips)
    sent = {"key": "k", "mark": "18 reps", "ask-0": "1"}
    answer = ana.post(page, sent)
    assert answer.status_code == 422 and "How did you do goblet squat?" in text_of(answer)
    assert ana.post(page, sent | {"opt-0": ""}).status_code == 302
