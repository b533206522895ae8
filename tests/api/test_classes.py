"""Classes and workouts by the API: faults by line, and no change lost."""

import gzip

import pytest
from django.urls import reverse

from scoring.models import StreamedClass, Workout
from scoring.services.classes import change_draft

from ..conftest import TWO_LADDERS
from ..scoring.classes import make_class
from .conftest import device, problem

UNREADABLE = TWO_LADDERS.replace("18-12-6", "18-12-six")


def test_a_text_is_checked_line_by_line(people):
    seen = device(people.coach).post(reverse("api-workout-preview"), {"text": UNREADABLE})
    assert seen.status_code == 200 and seen.json()["course"] is None
    fault = seen.json()["problems"][0]
    assert (fault["line"], fault["text"]) == (4, "18-12-six") and fault["suggestion"]
    assert not Workout.objects.exists()


@pytest.mark.parametrize("name", ["api-workouts", "api-classes"])
def test_a_text_that_cannot_be_read_is_not_kept(people, name):
    told = problem(
        device(people.coach).post(
            reverse(name), {"text": UNREADABLE, "starts_at": "2026-12-01T18:00:00Z"}
        ),
        422,
    )
    assert told["errors"][0]["pointer"] == "/text" and told["errors"][0]["line"] == 4
    assert not Workout.objects.exists() and not StreamedClass.objects.exists()


def test_a_workout_kept_once_makes_many_classes(people):
    coach = device(people.coach)
    kept = coach.post(reverse("api-workouts"), {"text": TWO_LADDERS}).json()
    again = coach.post(reverse("api-workouts"), {"text": TWO_LADDERS}).json()
    renamed = coach.post(
        reverse("api-workouts"), {"text": TWO_LADDERS.replace("Two ladders", "Once more")}
    ).json()
    assert kept == again and renamed["fingerprint"] == kept["fingerprint"] != renamed["title"]
    for _ in range(2):
        made = coach.post(
            reverse("api-classes"),
            {"workout": kept["id"], "starts_at": "2026-12-01T18:00:00+02:00"},
        )
        assert made.status_code == 201 and made.json()["starts_at"] == "2026-12-01T16:00:00Z"
    assert coach.get(reverse("api-classes")).json()["count"] == 2
    assert coach.get(reverse("api-classes"), {"state": "open"}).json()["count"] == 0
    problem(coach.get(reverse("api-classes"), {"state": "ajar"}), 400)
    # Members see workouts of classes they see, and no others.
    ana = device(people.ana)
    assert ana.get(reverse("api-workouts")).json()["count"] == 0
    coach.post(reverse("api-class-open", args=[made.json()["id"]]))
    assert [w["id"] for w in ana.get(reverse("api-workouts")).json()["results"]] == [kept["id"]]
    assert ana.get(reverse("api-workout", args=[renamed["id"]])).status_code == 404


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ({"starts_at": "2026-12-01T18:00:00Z"}, "text or a workout"),
        ({"text": "x", "workout": 1, "starts_at": "2026-12-01T18:00:00Z"}, "text or a workout"),
        ({"text": TWO_LADDERS, "starts_at": "2026-12-01T18:00:00"}, "no offset"),
        ({"text": TWO_LADDERS, "starts_at": "tonight"}, "format"),
        ({"text": TWO_LADDERS}, "required"),
        ({"text": "x" * 20_001, "starts_at": "2026-12-01T18:00:00Z"}, "20000"),
    ],
)
def test_a_class_needs_a_workout_and_a_moment(people, body, said):
    told = problem(device(people.coach).post(reverse("api-classes"), body), 400)
    assert said in str(told["errors"])


def test_another_gyms_workout_is_not_there(people):
    theirs = device(people.foreign_coach).post(reverse("api-workouts"), {"text": TWO_LADDERS})
    body = {"workout": theirs.json()["id"], "starts_at": "2026-12-01T18:00:00Z"}
    problem(device(people.coach).post(reverse("api-classes"), body), 422)


def test_members_change_nothing(people):
    ana, streamed = device(people.ana), make_class(people)
    problem(ana.post(reverse("api-classes"), {"text": TWO_LADDERS}), 403)
    problem(ana.post(reverse("api-workouts"), {"text": TWO_LADDERS}), 403)
    problem(ana.post(reverse("api-workout-preview"), {"text": TWO_LADDERS}), 403)
    problem(ana.patch(reverse("api-class", args=[streamed.pk]), {"note": "x"}), 403)
    for name in ("api-class-close", "api-class-open", "api-class-reopen"):
        problem(ana.post(reverse(name, args=[streamed.pk])), 403)


# RFC 9110, section 8.8.3.2, table 3, and section 13.1: If-Match compares strongly, so a
# weak tag never matches; If-None-Match compares weakly.
@pytest.mark.parametrize(
    ("sent", "matches", "not_modified"),
    [("{}", True, True), ("W/{}", False, True), ('"1"', False, False), ('W/"2"', False, False),
     ("*", True, True), ('"1", {}', True, True)],
)  # fmt: skip
def test_etags_compare_as_the_standard_says(people, sent, matches, not_modified):
    draft = make_class(people, is_open=False)
    coach, where = device(people.coach), reverse("api-class", args=[draft.pk])
    tag = coach.get(where)["ETag"]
    assert tag.startswith('"')
    given = sent.format(tag)
    again = coach.get(where, headers={"If-None-Match": given})
    assert again.status_code == (304 if not_modified else 200)
    changed = coach.patch(where, {"note": "bring water"}, headers={"If-Match": given})
    assert changed.status_code == (200 if matches else 412)
    draft.refresh_from_db()
    assert draft.note == ("bring water" if matches else "")
    if not matches:
        problem(changed, 412)


def test_a_draft_changed_meanwhile_is_not_overwritten(people):
    draft = make_class(people, is_open=False)
    coach, where = device(people.coach), reverse("api-class", args=[draft.pk])
    tag = coach.get(where)["ETag"]
    change_draft(streamed_class=draft, by=people.owner, note="no rings today")
    problem(coach.patch(where, {"note": "rings"}, headers={"If-Match": tag}), 412)
    draft.refresh_from_db()
    assert draft.note == "no rings today"


def test_a_tag_stays_strong_for_who_takes_compressed_answers(people):
    draft = make_class(people, is_open=False)
    coach, where = device(people.coach), reverse("api-class", args=[draft.pk])
    answer = coach.get(where, headers={"Accept-Encoding": "gzip"})
    assert "Content-Encoding" not in answer and answer["ETag"].startswith('"')
    listed = coach.get(reverse("api-schema"), headers={"Accept-Encoding": "gzip"})
    assert b"openapi" in gzip.decompress(listed.content)[:200]


def test_only_what_is_named_changes(people):
    draft = make_class(people, is_open=False, note="keep", tie_break_block=1, weighted=True)
    coach, where = device(people.coach), reverse("api-class", args=[draft.pk])
    told = coach.patch(where, {"starts_at": "2026-12-02T07:00:00Z"}).json()
    assert (told["note"], told["tie_break_block"], told["weighted"]) == ("keep", 1, True)
    assert coach.patch(where, {"tie_break_block": None}).json()["tie_break_block"] is None
    problem(coach.patch(where, {"tie_break_block": 3}), 422)


def test_an_open_class_is_not_rewritten(people):
    streamed = make_class(people)
    where = reverse("api-class", args=[streamed.pk])
    problem(device(people.coach).patch(where, {"text": TWO_LADDERS + "\n"}), 409)


def test_states_may_be_asked_for_twice_but_not_skipped(people):
    draft = make_class(people, is_open=False)
    coach = device(people.coach)
    problem(coach.post(reverse("api-class-close", args=[draft.pk])), 409)
    for _ in range(2):
        assert coach.post(reverse("api-class-open", args=[draft.pk])).json()["state"] == "open"
    assert coach.post(reverse("api-class-close", args=[draft.pk])).json()["closed_at"]
    assert coach.post(reverse("api-class-reopen", args=[draft.pk])).json()["state"] == "open"
