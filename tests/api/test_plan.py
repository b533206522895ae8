"""A text tried out by the API: on the clock, with totals, sides, gear, remarks, suggestions."""

from django.urls import reverse

from ..conftest import FOR_TIME
from ..scoring.classes import log
from ..scoring.test_planning import held, pulls
from .conftest import device


def seen(member, text, **sent):
    answer = device(member).post(reverse("api-workout-preview"), {"text": text, **sent})
    assert answer.status_code == 200, answer.content
    return answer.json()


def test_a_plan_is_told_as_on_the_page(people):
    plan = seen(people.coach, FOR_TIME.replace("14-10-6", "15-9-3"))["plan"]
    stretches = plan["drawing"]["stretches"]
    assert plan["drawing"]["stops"] == 840 and plan["speed"] is None
    # Three rungs of two movements, twice, without a gap.
    assert len(stretches) == 12 and stretches[0]["start"] == "0"
    assert [s["end"] for s in stretches[:-1]] == [s["start"] for s in stretches[1:]]
    assert plan["totals"][0] == {"name": "goblet squat", "reps": 36}
    assert plan["patterns"][0] == {"name": "core", "reps": 36}
    assert plan["sides"] == [
        {"line": "2.1", "movement": "single-arm row", "starting": 14, "other": 13}
    ]
    assert "rung of 9" in plan["odd_reps"][0]
    assert plan["gear"][0]["gear"] == "dumbbell or kettlebell"
    assert {"line": "1.1", "movement": "goblet squat", "text": "or air squat"}.items() <= plan[
        "suggestions"
    ][0].items()


def test_volume_is_compared_with_classes_before_that_time(people):
    log(held(people, pulls(4), 3), people.ana, "15:00")
    after = seen(people.coach, pulls(15), starts_at="2026-11-24T18:30:00Z")["plan"]
    assert after["volumes"] == [
        {
            "movement": "pull-up", "planned": 150, "members": 1, "average": "40",
            "ratio": "3.75", "beyond": [{"name": "Ana Sol", "ratio": "3.75"}],
        }
    ]  # fmt: skip
    assert after["remarks"][0]["about"] == "volume" and after["remarks"][0]["words"]
    assert after["speed"]["results"] == 1
    before = seen(people.coach, pulls(15), starts_at="2026-11-01T18:30:00Z")["plan"]
    assert before["volumes"] == []


def test_a_text_that_cannot_be_read_has_no_plan(people):
    assert seen(people.coach, "Bad\n\n5 rouns\n10 burpee")["plan"] is None


def test_a_max_set_has_no_number_and_an_interval_its_end(people):
    plan = seen(people.coach, "Bells\n\nevery 1:00 for 10 rounds\n8 burpee\nmax sit-up\n")["plan"]
    assert plan["drawing"]["is_interval"] and plan["drawing"]["stops"] == 60
    first, last = plan["drawing"]["stretches"]
    assert first["reps"] == 8 and last["reps"] is None and last["end"] == "60"


def test_a_class_is_given_and_changed_its_closing_time(people):
    coach = device(people.coach)
    sent = {"text": FOR_TIME, "starts_at": "2026-12-01T18:30:00Z"}
    made = coach.post(reverse("api-classes"), {**sent, "closes_at": "2026-12-02T18:30:00Z"}).json()
    assert made["closes_at"] == "2026-12-02T18:30:00Z"
    here = reverse("api-class", args=[made["id"]])
    assert coach.patch(here, {"note": "mats"}).json()["closes_at"] == "2026-12-02T18:30:00Z"
    refused = coach.patch(here, {"closes_at": "2026-12-01T18:00:00Z"})
    assert refused.status_code == 422 and refused.json()["errors"][0]["pointer"] == "/closes_at"
    assert coach.patch(here, {"closes_at": None}).json()["closes_at"] is None
