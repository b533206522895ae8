"""Levels and class effects by the API: what the pages say, to the same people."""

from math import log as ln

import pytest
from django.urls import reverse

from scoring.core.estimation.level_words import CAUTION

from ..conftest import NOW
from ..scoring.classes import log, make_class
from ..scoring.level_scenes import taught
from ..scoring.test_levels_pages import at
from .conftest import device, problem


@pytest.fixture
def risen(people, time_machine):
    time_machine.move_to(NOW, tick=False)
    classes = [make_class(people, starts_at=day, now=day) for day in (at(8, 20), at(11, 21))]
    for streamed in classes:
        log(streamed, people.ana, "2+9")
    path = [(at(8, 20), -ln(0.95), 0.03), (at(11, 21), -ln(1.08), 0.03)]
    taught(people.gym, {people.ana: path}, {classes[1]: (0.04, 0.0225)})
    return classes


def test_a_member_reads_their_level_and_its_path(people, risen):
    told = device(people.ana).get(reverse("api-my-level")).json()
    assert told["level"] == pytest.approx(108) and told["low"] < 108 < told["high"]
    assert (told["day"], told["last_result"], told["results"]) == ("2026-11-24", "2026-11-21", 2)
    assert (told["since"], told["compared"]) == ("2026-08-24", "2026-08-24")
    assert 0.9 < told["improved"] < 1 and told["caution"] == CAUTION
    assert told["path"][0]["day"] == "2026-08-20" and told["path"][-1]["day"] == "2026-11-24"
    assert sum(point["results"] for point in told["path"]) == 2
    figures = [row[key] for row in (told, *told["path"]) for key in ("level", "low", "high")]
    assert figures == [round(figure, 1) for figure in figures]
    assert told["improved"] == round(told["improved"], 3)
    history = device(people.ana).get(reverse("api-history")).json()["results"]
    assert [row["level"] for row in history] == [108, 95]


def test_a_day_to_compare_with_is_read_or_refused(people, risen):
    api = device(people.ana)
    told = api.get(reverse("api-my-level"), {"since": "2026-01-01"}).json()
    assert (told["since"], told["compared"]) == ("2026-01-01", "2026-08-20")
    for typed in ("soon", "2026-11-24"):
        answer = problem(api.get(reverse("api-my-level"), {"since": typed}), 422)
        assert "since" in str(answer["errors"])


def test_without_a_result_it_is_the_typical_level(people, risen):
    told = device(people.ben).get(reverse("api-my-level")).json()
    assert (told["level"], told["results"], told["path"]) == (100.0, 0, [])
    assert told["improved"] is told["compared"] is told["last_result"] is None
    assert told["low"] == pytest.approx(72.6, abs=0.1) and told["high"] > 137


def test_a_coach_reads_a_members_level_and_nobody_else_does(people, risen):
    address = reverse("api-member-level", args=[people.ana.pk])
    own = device(people.ana).get(reverse("api-my-level")).json()
    assert device(people.coach).get(address).json() == own
    problem(device(people.ben).get(address), 403)
    problem(device(people.ana).get(address), 403)
    problem(device(people.foreign_coach).get(address), 404)
    problem(device(people.coach).get(address, {"since": "x"}), 422)


def test_a_coach_reads_what_a_class_had_in_common(people, risen):
    first, second = risen
    coach = device(people.coach)
    told = coach.get(reverse("api-class-effect", args=[second.pk])).json()
    assert told["percent"] == pytest.approx(4.1) and told["results"] == 1
    assert told["low"] == pytest.approx(1.1)
    assert told["high"] == pytest.approx(7.1)
    assert "about 4 % slower" in told["text"] and told["until"] == "2026-11-21T18:00:00Z"
    assert told["same_workout"] is None
    unknown = coach.get(reverse("api-class-effect", args=[first.pk])).json()
    assert unknown["percent"] is None and "Not worked out yet" in unknown["text"]
    problem(device(people.ana).get(reverse("api-class-effect", args=[second.pk])), 403)
    lift = make_class(people, "Heavy day\n\nmax load, 3 reps\nback squat\n")
    answer = problem(coach.get(reverse("api-class-effect", args=[lift.pk])), 404)
    assert "No clock runs" in answer["detail"]
