"""The whole job by the API: write, open, log, compare, look back."""

from django.urls import reverse

from ..conftest import TWO_LADDERS
from .conftest import device


def test_a_class_from_its_text_to_the_members_history(people):
    coach, ana, ben = device(people.coach), device(people.ana), device(people.ben)
    seen = coach.post(reverse("api-workout-preview"), {"text": TWO_LADDERS}).json()
    assert seen["problems"] == [] and seen["course"]["total_reps"] is None
    # 18+12+6 and 14+10+6, each of two movements: 72 + 60 reps before the AMRAP of 24.
    assert seen["course"]["amrap_round"][0]["start"] == 132
    assert sum(s["reps"] for s in seen["course"]["amrap_round"]) == 24

    made = coach.post(
        reverse("api-classes"), {"text": TWO_LADDERS, "starts_at": "2026-11-24T18:30:00Z"}
    )
    assert made.status_code == 201 and made.json()["state"] == "draft"
    pk = made.json()["id"]
    assert ana.get(reverse("api-class", args=[pk])).status_code == 404  # still a draft
    assert coach.post(reverse("api-class-open", args=[pk])).json()["state"] == "open"

    shown = ana.get(reverse("api-class", args=[pk])).json()
    assert [o["credit"] for o in shown["options"]] == ["0.75", "0.7"]
    tried = ana.post(
        reverse("api-try", args=[pk]),
        {"mark": "2+9", "choices": [{"line": "1.2", "option": "tuck rock"}]},
    ).json()
    assert tried["credited_reps"] == "180" and not tried["as_prescribed"]

    logged = ana.post(
        reverse("api-results", args=[pk]),
        {
            "mark": "2+9",
            "options": "tuck rock",
            "splits": {"1": "4:10"},
            "effort": 8,
            "note": "hot",
        },
        headers={"Idempotency-Key": "a-1"},
    )
    assert logged.status_code == 201 and logged.json()["created"]
    # 132 + 2 × 24 + 9 = 189 reps, of which 36 × 0.25 are taken off.
    assert logged.json()["figures"]["raw_reps"] == 189
    assert logged.json()["figures"]["credited_reps"] == "180"
    assert logged.json()["figures"] == {k: v for k, v in tried.items() if k != "breakdown"}
    ben.post(reverse("api-results", args=[pk]), {"mark": "2+9"}, headers={"Idempotency-Key": "b-1"})

    board = ana.get(reverse("api-board", args=[pk])).json()
    assert [(r["rank"], r["name"], r["is_own"]) for r in board["rows"]] == [
        (1, "Ben Okoro", False),
        (2, "Ana Sol", True),
    ]
    assert board["own"]["rank"] == 2 and len(board["neighbours"]) == 2
    opened = ben.get(reverse("api-result", args=[logged.json()["id"]])).json()
    assert opened["breakdown"]["sentences"] and opened["facts"] == []  # notes are Ana's own

    there = coach.get(reverse("api-attendance", args=[pk])).json()
    assert {e["name"] for e in there["logged"]} == {"Ana Sol", "Ben Okoro"}
    assert "Cleo Wren" in {e["name"] for e in there["missing"]}
    assert coach.post(reverse("api-class-close", args=[pk])).json()["state"] == "closed"
    past = ana.get(reverse("api-history")).json()
    assert past["count"] == 1 and past["results"][0]["class"] == pk
    assert past["results"][0]["mark"] == "2+9" and past["results"][0]["rank"] == 2


def test_who_i_am_and_how_i_am_shown(people):
    ana = device(people.ana)
    me = ana.get(reverse("api-me")).json()
    assert (me["email"], me["membership"]["gym"]["slug"]) == (people.ana.user.email, "harbour")
    changed = ana.patch(reverse("api-me"), {"shown_as": "initials"}).json()
    assert changed["membership"]["shown_as"] == "initials"
    assert changed["membership"]["display_name"] == "Ana Sol"


def test_somebody_of_two_gyms_names_one(people):
    from members.models import Membership

    Membership.objects.create(
        gym=people.stranger_gym,
        user=people.ana.user,
        display_name="Ana too",
        joined_at="2030-01-01T00:00:00Z",
    )
    ana = device(people.ana)
    assert ana.get(reverse("api-me")).json()["membership"]["gym"]["slug"] == "harbour"
    other = ana.get(reverse("api-me"), headers={"X-Gym": "hilltop"}).json()
    assert other["membership"]["display_name"] == "Ana too"
    assert ana.get(reverse("api-me"), headers={"X-Gym": "nowhere"}).status_code == 403
