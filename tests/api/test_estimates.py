"""What results have taught, by the API."""

import pytest

from scoring.api.rounding import seconds
from scoring.models import EstimateRun

from ..conftest import NOW, make_people
from ..scoring.classes import log, make_class
from ..scoring.past_classes import held_class, made
from .conftest import problem

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def people():
    return make_people()


FIGURES = ("seconds", "seconds_low", "seconds_high", "seconds_before")


def test_without_results_it_is_the_catalogue_and_the_credits_and_says_so(api, people):
    make_class(people)
    told = api(people.coach).get("/api/v1/estimate/").json()
    assert told["is_prior"] and told["until"] is None and told["run"] is None
    ways = {(way["movement"], way["option"]): way for way in told["ways"]}
    rock, tuck = ways["hollow rock", ""], ways["hollow rock", "tuck rock"]
    assert tuck["seconds"] == pytest.approx(0.75 * rock["seconds"], abs=0.01)
    assert rock["seconds"] == rock["seconds_before"] and rock["results"] == 0
    # A chance of 80 % for log seconds of spread 0.35: 1.2816 of it either side.
    assert rock["seconds_high"] == pytest.approx(1.5661 * rock["seconds"], abs=0.006)
    assert rock["seconds_low"] == pytest.approx(rock["seconds"] / 1.5661, abs=0.006)
    assert all(way[key] == seconds(way[key]) for way in told["ways"] for key in FIGURES)
    assert all(value == round(value, 4) for value in told["spreads"].values())


def test_a_metre_of_less_than_a_second_keeps_digits_enough():
    assert (seconds(3.41462), seconds(0.27349)) == (3.41, 0.2735)


def test_with_results_it_says_from_how_many_and_until_when(api, people):
    classes = [held_class(people, number) for number in range(3)]
    made(people.gym)
    told = api(people.coach).get("/api/v1/estimate/").json()
    assert not told["is_prior"]
    assert (told["results"], told["members"], told["classes"]) == (9, 3, 3)
    assert told["until"] == classes[-1].starts_at.isoformat().replace("+00:00", "Z")
    assert told["run"]["state"] == "good" and told["run"]["asked_by"] == ""
    squat = next(way for way in told["ways"] if way["movement"] == "goblet squat")
    assert squat["results"] == 9 and squat["is_from_few"] and squat["load"] == "20"
    assert squat["seconds_low"] < squat["seconds"] < squat["seconds_high"]


def test_a_coach_asks_for_it_anew_and_reads_how_far_it_is(api, people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    answer = api(people.coach).post("/api/v1/estimate/refresh/")
    assert answer.status_code == 202 and answer["Location"] == "/api/v1/estimate/"
    assert answer.json()["state"] == "waiting" and answer.json()["asked_by"] == "Carl Coach"
    again = api(people.owner).post("/api/v1/estimate/refresh/")
    assert again.status_code == 202 and again.json()["asked_by"] == "Carl Coach"
    run = EstimateRun.objects.get()
    EstimateRun.objects.filter(pk=run.pk).update(state="gathering", done=3, total=7)
    told = api(people.coach).get("/api/v1/estimate/").json()["run"]
    assert (told["done"], told["total"]) == (3, 7)
    assert told["told"] == "Reading results: 3 of 7 classes."


def test_a_failure_says_why_and_the_last_good_one_stays(api, people):
    held_class(people, 1)
    made(people.gym)
    EstimateRun.objects.create(gym=people.gym, state="failed", why="A reason.", finished_at=NOW)
    told = api(people.coach).get("/api/v1/estimate/").json()
    assert told["results"] == 3
    assert told["run"]["told"] == ("It could not be done. A reason. The last good figures stay.")


def test_members_may_not(api, people):
    for method, path in (("get", ""), ("post", "refresh/")):
        answer = getattr(api(people.ana), method)(f"/api/v1/estimate/{path}")
        assert problem(answer, 403)
