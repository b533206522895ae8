"""The review by the API is what the page shows."""

from django.urls import reverse

from ..conftest import FOR_TIME
from ..scoring.classes import log, make_class
from .conftest import device, problem


def test_claims_and_figures(people):
    streamed = make_class(people, FOR_TIME)
    log(streamed, people.ana, "12:00", splits={1: "6:00"}, effort=8)
    log(streamed, people.ben, "116 reps", "tuck rock")
    told = device(people.coach).get(reverse("api-review", args=[streamed.pk])).json()
    assert (told["kind"], told["logged"], told["finished"], told["missing"]) == ("course", 2, 1, 1)
    assert told["claims"][1] == {"text": "1 of 2 finished.", "about": "stopped"}
    assert [row["share"] for row in told["stopped"]] == [0.5, 0.5]
    assert told["blocks"][0]["half"] == 360 and told["blocks"][0]["noted"] == 1
    assert told["used"][1]["ways"][1]["done_as"] == "tuck rock"
    assert told["effort"]["counts"][8] == 1 and told["last_time"] is None
    assert [row["name"] for row in told["results"]] == ["Ana Sol", "Ben Okoro"]


def test_a_repeat_tells_the_last_time(people):
    for days in range(2):
        streamed = make_class(people, FOR_TIME)
        streamed.starts_at = streamed.starts_at.replace(day=20 + days)
        streamed.save()
        for member, mark in ((people.ana, "12:00"), (people.ben, "13:00")):
            log(streamed, member, mark)
    told = device(people.coach).get(reverse("api-review", args=[streamed.pk])).json()
    last = told["last_time"]
    assert (last["change"]["count"], last["change"]["percent"]) == (2, 0)
    assert last["change"]["low"] is None and len(last["members"]) == 2


def test_members_and_classes_without_scores_get_nothing(people):
    streamed = make_class(people)
    problem(device(people.ana).get(reverse("api-review", args=[streamed.pk])), 403)
    bare = make_class(people, "Stretch\n\n3 rounds, not scored\n10 air squat\n")
    problem(device(people.coach).get(reverse("api-review", args=[bare.pk])), 404)
