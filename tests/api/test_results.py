"""Logging by the API: once however often, told clearly where it can't be."""

import pytest
from django.urls import reverse

from scoring.models import Fact, Result
from scoring.services.classes import close_class

from ..conftest import FOR_TIME, NOW
from ..scoring.classes import log, make_class
from .conftest import device, problem


@pytest.fixture
def streamed(people):
    return make_class(people)


def send(client, streamed, key="k", **body):
    return client.post(
        reverse("api-results", args=[streamed.pk]), body, headers={"Idempotency-Key": key}
    )


def test_the_same_sent_again_is_one_result_with_the_first_answer(people, streamed):
    ana = device(people.ana)
    first = send(ana, streamed, mark="2+9")
    again = send(ana, streamed, '"k"', mark="2+9")  # quoted as the draft of the header has it
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json()["id"] == again.json()["id"] and again.json()["replayed"]
    assert again["Location"] == reverse("api-result", args=[first.json()["id"]])
    assert Fact.objects.count() == 1


@pytest.mark.parametrize("hurts", [None, {"areas": ["knee"], "words": "left one"}])
@pytest.mark.parametrize("marks", [["2+9"], ["2+9", "3+0"]])
def test_what_is_answered_at_once_is_what_reading_tells(people, streamed, marks, hurts):
    """It is not read again from the database, so it might be something else."""
    ana, told = device(people.ana), {"hurts": hurts} if hurts else {}
    for number, mark in enumerate(marks):
        answer = send(ana, streamed, f"k{number}", mark=mark, **told).json()
    read = ana.get(reverse("api-result", args=[answer["id"]])).json()
    assert (answer["pain"] or {}).get("areas") == (hurts and hurts["areas"])
    left_out = {"created", "replayed", "likely_rank"}
    assert {k: v for k, v in answer.items() if k not in left_out} == {
        k: v for k, v in read.items() if k not in left_out
    }


def test_what_was_said_to_hurt_before_is_told_with_a_later_result(people, streamed):
    ana = device(people.ana)
    send(ana, streamed, "k", mark="2+9", hurts={"areas": ["knee"], "words": ""})
    assert send(ana, streamed, "l", mark="3+0").json()["pain"]["areas"] == ["knee"]


# IETF, draft-ietf-httpapi-idempotency-key-header, section 2.7 (a draft, not an RFC):
# no key where one is required 400, a key with another payload 422.
def test_a_key_is_needed_and_stands_for_one_thing(people, streamed):
    ana = device(people.ana)
    without = ana.post(reverse("api-results", args=[streamed.pk]), {"mark": "2+9"})
    assert "Idempotency-Key" in problem(without, 400)["detail"]
    for bad in ("", " ", "x" * 256, "caf\xe9"):
        problem(send(ana, streamed, bad, mark="2+9"), 400)
    send(ana, streamed, "k", mark="2+9")
    told = problem(send(ana, streamed, "k", mark="3+0"), 422)
    assert told["errors"][0]["pointer"] == "/key"
    assert Fact.objects.get().mark == "2+9"


def test_something_else_under_a_new_key_is_a_correction(people, streamed):
    ana = device(people.ana)
    send(ana, streamed, "k1", mark="2+9")
    second = send(ana, streamed, "k2", mark="3+0")
    assert second.status_code == 200 and not second.json()["replayed"]
    assert [f["mark"] for f in second.json()["facts"]] == ["3+0", "2+9"]
    assert Result.objects.count() == 1


@pytest.mark.parametrize(
    ("body", "pointer", "said"),
    [
        ({"mark": "12:00"}, "/mark", "AMRAP has no finishing time"),
        ({"mark": "banana"}, "/mark", "not a mark"),
        ({"mark": "2+24"}, "/mark", "24 reps"),
        ({"mark": "block 1 / 18 / goblet squat / 19"}, "/mark", "18 reps of goblet squat"),
        ({"mark": "2+9", "options": "tuk rock"}, "/options", "not an option"),
        (
            {"mark": "2+9", "choices": [{"line": "9.9", "option": "tuck rock"}]},
            "/choices/0/line",
            "9.9",
        ),
        (
            {"mark": "2+9", "choices": [{"line": "1.1", "option": "tuck rock"}]},
            "/choices/0/option",
            "tuck rock",
        ),
        ({"mark": "2+9", "splits": {"7": "4:00"}}, "/splits", "no block 7"),
        ({"mark": "2+9", "splits": {"1": "soon"}}, "/splits", "soon"),
    ],
)
def test_what_cannot_be_is_refused_with_its_place(people, streamed, body, pointer, said):
    told = problem(send(device(people.ana), streamed, **body), 422)
    assert told["errors"][0]["pointer"] == pointer
    assert said in told["errors"][0]["detail"] and told["errors"][0]["suggestion"]
    assert not Fact.objects.exists()


def test_everything_wrong_is_told_at_once(people, streamed):
    told = problem(
        send(device(people.ana), streamed, mark="banana", options="tuk rock", splits={"9": "1"}),
        422,
    )
    assert {e["pointer"] for e in told["errors"]} == {"/mark", "/options", "/splits"}


def test_a_time_past_the_cap_is_refused(people):
    streamed = make_class(people, FOR_TIME)
    told = problem(send(device(people.ana), streamed, mark="14:01"), 422)
    assert "14:00" in told["detail"]


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({}, "/mark"),
        ({"mark": ""}, "/mark"),
        ({"mark": None}, "/mark"),
        ({"mark": "2+9\0"}, "/mark"),
        ({"mark": "2+9", "effort": 11}, "/effort"),
        ({"mark": "2+9", "effort": "hard"}, "/effort"),
        ({"mark": "2+9", "choices": "tuck rock"}, "/choices"),
        ({"mark": "2+9", "choices": [{"line": "1.2"}]}, "/choices/0/option"),
        ({"mark": "2+9", "splits": ["4:10"]}, "/splits"),
        ({"mark": "2+9", "note": "x" * 2001}, "/note"),
    ],
)
def test_a_body_of_another_shape_is_pointed_at(people, streamed, body, pointer):
    told = problem(send(device(people.ana), streamed, **body), 400)
    assert told["errors"][0]["pointer"] == pointer
    assert not Fact.objects.exists()


def test_a_class_that_is_not_open_takes_nothing(people, streamed):
    draft = make_class(people, is_open=False)
    problem(send(device(people.ana), draft, mark="2+9"), 404)  # not seen by members at all
    close_class(streamed_class=streamed, by=people.coach, now=NOW)
    told = problem(send(device(people.ana), streamed, mark="2+9"), 409)
    assert told["type"].endswith("closed")
    # A coach may still, and says why.
    coach = device(people.coach)
    problem(send(coach, streamed, mark="2+9", member=people.ana.pk), 409)
    late = send(coach, streamed, "k2", mark="2+9", member=people.ana.pk, reason="phone died")
    assert late.status_code == 201 and late.json()["name"] == "Ana Sol"


def test_nobody_logs_in_a_foreign_class_or_for_somebody_else(people, streamed):
    problem(send(device(people.foreigner), streamed, mark="2+9"), 404)
    problem(send(device(people.ana), streamed, mark="2+9", member=people.ben.pk), 403)
    coach = device(people.coach)
    problem(send(coach, streamed, mark="2+9", member=people.foreigner.pk), 422)
    assert not Fact.objects.exists()


def test_a_coach_corrects_with_a_reason_and_both_stay(people, streamed):
    result = log(streamed, people.ana, "2+9").result
    where = reverse("api-correct", args=[result.pk])
    problem(device(people.ana).post(where, {"mark": "1+0", "reason": "mine"}), 403)
    problem(device(people.foreign_coach).post(where, {"mark": "1+0", "reason": "?"}), 404)
    coach = device(people.coach)
    problem(coach.post(where, {"mark": "1+0"}), 400)
    done = coach.post(where, {"mark": "1+9", "reason": "counted on the recording"})
    assert done.status_code == 201
    assert [(f["mark"], f["reason"]) for f in done.json()["facts"]] == [
        ("1+9", "counted on the recording"),
        ("2+9", ""),
    ]


def test_withdrawing_leaves_the_record(people, streamed):
    result = log(streamed, people.ana, "2+9").result
    where = reverse("api-withdraw", args=[result.pk])
    problem(device(people.ben).post(where, {}), 403)
    done = device(people.ana).post(where, {}).json()
    assert done["is_withdrawn"] and done["figures"] is None and len(done["facts"]) == 2
    problem(device(people.ana).post(where, {}), 409)
    assert device(people.ben).get(reverse("api-result", args=[result.pk])).status_code == 404
    assert device(people.ben).get(reverse("api-board", args=[streamed.pk])).json()["total"] == 0
