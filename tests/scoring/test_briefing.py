"""The briefing: all that is needed before a class, on one page."""

import pytest
from django.urls import reverse

from scoring.mapping import prescription
from scoring.selectors.briefing import parts
from scoring.services.setups import save_setup

from ..conftest import TWO_LADDERS
from .classes import make_class

WHOLE = """Two ladders and company
cap 18:00

3 rounds, not scored
10 air squat

18-12-6
goblet squat @ 20 kg
hollow rock
  or tuck rock, credit 0.75

rest 1:00

2 rounds
10 burpee

1 round, not scored
1:00 plank
"""


def read(text):
    return parts(prescription(text))


def test_what_is_not_scored_stands_before_and_after():
    told = read(WHOLE)
    assert told.warm_up == "3 rounds, not scored\n10 air squat"
    assert told.workout.startswith("18-12-6\ngoblet squat @ 20 kg")
    assert "rest 1:00" in told.workout and told.workout.endswith("10 burpee")
    assert told.cool_down == "1 round, not scored\n1:00 plank"


def test_the_parts_are_the_text_as_written_and_nothing_is_lost():
    told = read(WHOLE)
    body = "\n\n".join([told.warm_up, told.workout, told.cool_down]) + "\n"
    assert WHOLE.split("\n\n", 1)[1] == body


def test_a_workout_without_a_score_is_all_workout():
    told = read("Easy day\n\n3 rounds, not scored\n10 air squat\n")
    assert (told.warm_up, told.cool_down) == ("", "") and "10 air squat" in told.workout


@pytest.fixture
def briefed(client, people):
    def get(text=TWO_LADDERS, who=None, **kwargs):
        streamed = make_class(people, text, **kwargs)
        client.force_login((who or people.ana).user)
        return client.get(reverse("class-briefing", args=[streamed.pk])).content.decode()

    return get


def test_the_page_holds_all_of_it(briefed):
    told = briefed(WHOLE, note="Bring water.")
    for said in (
        "Bring water.",
        "<h2>Warm-up</h2>",
        "<h2>Cool-down</h2>",
        "tuck rock in place of hollow rock: 0.75",
        "18 goblet squat: <strong>6-6-6</strong>",
        "Block 1: About",
        "there is no study behind it",
        "<strong>air squat</strong>: Hips drop below",
        "Stop at once and get help",
        "dumbbell or kettlebell",
    ):
        assert said in told
    assert told.count("as prescribed") == 3


def test_my_version_is_the_one_that_fits_my_gear(briefed, people):
    save_setup(
        member=people.ana, pieces=["kettlebell"], loads={"kettlebell": "16 kg"},
        usual={"hollow rock": "tuck rock"},
    )  # fmt: skip
    told = briefed(WHOLE)
    assert "goblet squat @ 16 kg, the nearest weight you have; a rep counts" in told
    assert "tuck rock, what you usually take; a rep counts 0.75" in told


def test_a_movement_of_the_coachs_own_is_no_fault(briefed):
    told = briefed("Own\ncap 10:00\n\n3 rounds\n12 sofa shuffle\n")
    assert "your coach's own; ask what counts" in told.replace("&#x27;", "'")
    assert "12 sofa shuffle: <strong>6-6</strong>" in told


@pytest.mark.parametrize(
    "text",
    [
        "Easy day\n\n3 rounds, not scored\n10 air squat\n",
        "Heavy\n\nmax load, 3 reps\nback squat\n",
        "Each minute\n\nevery 1:00 for 10 rounds\nmax push-up\n",
    ],
)
def test_every_kind_of_workout_has_a_briefing(briefed, text):
    told = briefed(text)
    assert "What makes a rep a good one" in told
    assert ("<h2>Pacing</h2>" in told) is ("every" in text)


def test_a_draft_is_briefed_to_coaches_alone_and_says_so(briefed, people):
    assert "A draft: members don't see it yet." in briefed(who=people.coach, is_open=False)
    assert "Two ladders" not in briefed("X\ncap 5:00\n\n1 round\n5 air squat\n", is_open=False)


def test_the_class_page_leads_to_it(client, people):
    streamed = make_class(people)
    client.force_login(people.ana.user)
    page = client.get(reverse("class", args=[streamed.pk])).content.decode()
    assert reverse("class-briefing", args=[streamed.pk]) in page


def test_on_paper_too_the_time_says_whose_it_is(briefed, people):
    assert "18:30, with Carl Coach" in briefed()
    people.ben.timezone = "Asia/Tokyo"
    people.ben.save()
    assert "03:30 (Asia/Tokyo), with Carl Coach" in briefed(who=people.ben)
