"""A class while results come in, by the API."""

import pytest
from django.urls import reverse

from scoring.models import Fact, QuestionAnswer
from scoring.services.pains import tell_pain

from ..conftest import NOW, add_member
from ..scoring.classes import log, make_class
from .conftest import problem


@pytest.fixture
def coach(people, api):
    return api(people.coach)


def send(client, streamed, key="k", **body):
    return client.post(
        reverse("api-class-lines", args=[streamed.pk]),
        body,
        format="json",
        headers={"Idempotency-Key": key},
    )


def test_how_a_class_stands_is_told_and_unchanged_is_a_304(people, coach):
    streamed = make_class(people)
    log(streamed, people.ana, "48+0", "tuck rock", effort=8)
    tell_pain(streamed_class=streamed, member=people.ben, areas=["knee"], words="ouch", now=NOW)
    address = reverse("api-class-live", args=[streamed.pk])
    answer = coach.get(address)
    told = answer.json()
    assert (told["state"], told["logged"], told["missing"]) == ("open", 1, 2)
    [newest] = told["newest"]
    assert (newest["name"], newest["rank"], newest["options"]) == ("Ana Sol", 1, "tuck rock")
    assert newest["effort"] == 8 and told["usual"]["total"] == 0
    assert [row["name"] for row in told["others_missing"]] == ["Ben Okoro", "Cleo Wren"]
    [hurt] = told["hurts"]
    assert hurt["areas"] == ["knee"] and "physiotherapist" in hurt["advice"][0]
    assert [row["kind"] for row in told["questions"]] == ["fast"]
    assert coach.get(address, headers={"If-None-Match": answer["ETag"]}).status_code == 304
    problem(coach.get(address, {"limit": 0}), 400)


def test_a_line_is_read_first_and_kept_then_once(people, coach):
    streamed = make_class(people)
    read = send(coach, streamed, line="ben 2+9 tuck, knee", dry_run=True)
    assert read.status_code == 200 and read.json()["kept"] is False
    assert read.json()["adjusted"] == "1 round + 15" and not Fact.objects.exists()
    kept = send(coach, streamed, line="ben 2+9 tuck, knee")
    assert kept.status_code == 201 and kept.json()["kept"]
    assert kept.json()["fact"] == Fact.objects.get().pk
    again = send(coach, streamed, line="ben 2+9 tuck, knee")
    assert again.status_code == 200 and again.json()["replayed"] and Fact.objects.count() == 1
    problem(send(coach, streamed, line="ben 2+8"), 422)


def test_what_is_doubtful_is_asked_and_settled_by_answers(people, coach):
    other = add_member(people.gym, "Ana Lund")
    streamed = make_class(people)
    told = send(coach, streamed, line="ana 3").json()
    assert not told["kept"] and {row["member"] for row in told["candidates"]} == {
        people.ana.pk,
        other.pk,
    }
    assert told["doubts"][0]["choices"] == ["3 rounds", "3 reps"] and not Fact.objects.exists()
    done = send(coach, streamed, line="ana 3", member=other.pk, answers={"3": "3 rounds"})
    assert done.status_code == 201 and done.json()["member"]["name"] == "Ana Lund"


def test_a_result_that_is_there_is_named_before_it_is_corrected(people, coach):
    streamed = make_class(people)
    log(streamed, people.ben, "2+9")
    told = send(coach, streamed, line="ben 3+1").json()
    assert not told["kept"] and told["corrects"] == "2+9"
    problem(send(coach, streamed, line="ben 3+1", correct=True), 422)
    done = send(coach, streamed, line="ben 3+1", correct=True, reason="told me")
    assert done.status_code == 201 and Fact.objects.latest("number").reason == "told me"


def test_what_can_not_be_is_a_problem_with_what_would_be_right(people, coach):
    streamed = make_class(people)
    for line in ("zed 2+9", "ben 2+90", "hello"):
        for dry_run in (True, False):
            problem(send(coach, streamed, line=line, dry_run=dry_run), 422)
    address = reverse("api-class-lines", args=[streamed.pk])
    problem(coach.post(address, {"line": "ben 2+9"}, format="json"), 400)


def test_a_question_is_answered_for_its_fact(people, coach):
    streamed = make_class(people)
    fact = log(streamed, people.ana, "48+0").fact
    address = reverse("api-class-questions", args=[streamed.pk])
    [asked] = coach.get(address).json()["results"]
    assert (asked["fact"], asked["kind"]) == (fact.pk, "fast")
    for _ in range(2):
        answer = coach.post(address, {"fact": fact.pk, "kind": "fast"}, format="json")
        assert answer.status_code == 200
    assert coach.get(address).json()["results"] == [] and QuestionAnswer.objects.count() == 1
    problem(coach.post(address, {"fact": 999, "kind": "fast"}, format="json"), 422)
    problem(coach.post(address, {"fact": fact.pk, "kind": "ugly"}, format="json"), 400)


@pytest.mark.parametrize("name", ["api-class-live", "api-class-lines", "api-class-questions"])
def test_it_is_for_the_gyms_coaches(people, api, name):
    address = reverse(name, args=[make_class(people).pk])
    body = {"line": "ben 2+9", "fact": 1, "kind": "fast"}
    for viewer, status in ((None, 401), (people.ana, 403), (people.foreign_coach, 404)):
        client = api(viewer)
        if name != "api-class-lines":
            assert client.get(address).status_code == status
        if name != "api-class-live":
            sent = client.post(address, body, format="json", headers={"Idempotency-Key": "k"})
            assert sent.status_code == status
    assert not Fact.objects.exists()
