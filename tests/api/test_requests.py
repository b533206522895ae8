"""Pain and requests by the API."""

from django.urls import reverse

from scoring.models import Fact
from scoring.services.classes import close_class

from ..conftest import NOW
from ..scoring.classes import log, make_class
from .conftest import device, problem


def test_what_hurts_is_private_and_replaced_as_a_whole(people):
    streamed, ana = make_class(people), device(people.ana)
    where = reverse("api-results", args=[streamed.pk])

    def send(key, **body):
        return ana.post(where, {"mark": "2+9", **body}, headers={"Idempotency-Key": key})

    first = send("1", hurts={"areas": ["knee"], "words": "ouch"}).json()
    assert first["pain"] == {"areas": ["knee"], "words": "ouch"}
    result = reverse("api-result", args=[first["id"]])
    assert device(people.ben).get(result).json()["pain"] is None
    assert device(people.coach).get(result).json()["pain"]["areas"] == ["knee"]
    assert send("2").json()["pain"]["areas"] == ["knee"]  # not named, it stays
    problem(send("1", hurts={"areas": ["hip or groin"]}), 422)  # another thing under a used key
    assert send("3", hurts={"areas": []}).json()["pain"] is None
    told = problem(send("4", hurts={"areas": ["soul"]}), 422)
    assert "not in the list" in told["detail"]


def test_asked_answered_and_seen_by_both(people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    where = reverse("api-requests", args=[streamed.pk])
    ana, coach = device(people.ana), device(people.coach)
    problem(ana.post(where, {"mark": "3+9", "words": "one more"}), 409)  # it is open
    close_class(streamed_class=streamed, by=people.coach, now=NOW)
    problem(ana.post(where, {"mark": "3+9"}), 400)
    told = problem(ana.post(where, {"mark": "banana", "words": "one more"}), 422)
    assert told["errors"][0]["pointer"] == "/mark"
    asked = ana.post(where, {"mark": "3+9", "words": "one more"}).json()
    assert asked["answer"] == "waiting"
    assert device(people.ben).get(where).json()["count"] == 0
    answer = reverse("api-answer", args=[asked["id"]])
    problem(ana.post(answer, {"accept": True}), 403)
    problem(device(people.foreign_coach).post(answer, {"accept": True}), 404)
    problem(coach.post(answer, {"accept": False}), 422)
    assert coach.post(answer, {"accept": True, "words": "seen"}).json()["answer"] == "accepted"
    problem(coach.post(answer, {"accept": False, "words": "no"}), 409)
    assert ana.get(where).json()["results"][0]["answer_words"] == "seen"
    assert Fact.objects.latest("number").mark == "3+9"
