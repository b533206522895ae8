"""Comparing, runs, a member and notes by the API."""

import pytest

from scoring.models import MemberNote

from ..conftest import add_member
from ..scoring.held import held

pytestmark = pytest.mark.django_db


@pytest.fixture
def ask(client, people):
    def _ask(address, who="coach", sent=None):
        client.force_login(getattr(people, who).user)
        address = f"/api/v1/{address}"
        if sent is None:
            return client.get(address)
        return client.post(address, sent, content_type="application/json")

    return _ask


def test_groups_are_told_with_their_intervals(people, ask):
    members = [add_member(people.gym, f"Member {n}") for n in range(6)]
    for days in (398, 399):
        streamed = held(people, days, {m: ("10:00", "", 7) for m in members})
    day = streamed.starts_at.date()
    told = ask(f"compare/?by=week&from={day}&to=2025-12-31").json()
    assert (told["by"], told["first"], len(told["groups"])) == ("week", str(day), 1)
    assert told["whole"]["results"] == 12 and told["whole"]["differs"] is None
    [group] = told["groups"]
    assert group["prescribed"]["hits"] == 12 and group["prescribed"]["people"] == 6
    assert group["pace"]["value"] == pytest.approx(100)
    assert group["effort"]["lower_quartile"] == 7
    assert group["differs"]["pace"] == "alone"


def test_a_wrong_day_is_a_problem_document(ask):
    answer = ask("compare/?from=soon")
    assert answer.status_code == 422
    assert answer["Content-Type"].startswith("application/problem+json")


def test_runs_of_a_workout(people, ask):
    members = [add_member(people.gym, f"Member {n}") for n in range(5)]
    streamed = held(people, 400, {m: f"10:{n:02}" for n, m in enumerate(members)})
    held(people, 399, {m: f"5:{n:02}" for n, m in enumerate(members)})
    first, second = ask(f"workouts/{streamed.workout_id}/runs/").json()
    assert first["change"] is None and first["marks"] == ["10:02"]
    assert second["change"]["value"] == pytest.approx(199.4, abs=0.5)
    assert second["change"]["people"] == 5


def test_a_member_over_time(people, ask):
    held(people, 400, {people.ana: ("10:00", "", 7)})
    told = ask(f"members/{people.ana.pk}/seen/").json()
    assert told["name"] == "Ana Sol" and [e["effort"] for e in told["efforts"]] == [7]
    assert ask(f"members/{people.ana.pk}/seen/", "ana").status_code == 403
    assert ask(f"members/{people.foreigner.pk}/seen/").status_code == 404


def test_notes_are_written_read_and_struck_out(people, ask):
    address = f"members/{people.ana.pk}/notes/"
    kept = ask(address, sent={"words": "likes the low box"})
    assert kept.status_code == 201 and kept.json()["written_by"] == "Carl Coach"
    number = kept.json()["id"]
    struck = ask(f"notes/{number}/strike/", "owner", {"why": "not she"})
    assert struck.status_code == 200 and struck.json()["struck_by"] == "Olga Owner"
    assert ask(f"notes/{number}/strike/", "owner", {"why": "again"}).status_code == 409
    [told] = ask(address).json()["results"]
    assert (told["words"], told["is_struck_out"], told["struck_because"]) == (
        "likes the low box", True, "not she",
    )  # fmt: skip
    assert ask(address, "ana").status_code == 403
    assert ask(f"notes/{number}/strike/", "ana", {"why": "mine"}).status_code == 403


def test_on_oneself_a_coach_reads_and_writes_none(people, ask):
    ask(f"members/{people.coach.pk}/notes/", "owner", {"words": "late again"})
    assert MemberNote.objects.count() == 1
    assert ask(f"members/{people.coach.pk}/notes/").json()["count"] == 0
    assert ask(f"members/{people.coach.pk}/notes/", sent={"words": "never"}).status_code == 403
    number = MemberNote.objects.get().pk
    assert ask(f"notes/{number}/strike/", sent={"why": "never"}).status_code == 404
