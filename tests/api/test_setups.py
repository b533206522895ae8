"""Gear and one's own version by the API."""

from django.urls import reverse

from ..scoring.classes import make_class
from .conftest import device, problem


def test_gear_told_once_makes_a_version_that_can_be_logged_as_it_is(people):
    ana, streamed = device(people.ana), make_class(people)
    before = ana.get(reverse("api-gear")).json()
    assert not before["has_told_gear"]
    kept = ana.put(
        reverse("api-gear"),
        {
            "pieces": ["kettlebell"],
            "loads": {"kettlebell": "12"},
            "usual": {"hollow rock": "tuck rock"},
        },
    ).json()
    assert kept["loads"] == {"kettlebell": "12 kg"} and kept["has_told_gear"]
    mine = ana.get(reverse("api-mine", args=[streamed.pk])).json()
    assert [fit["option"] for fit in mine[:2]] == ["goblet squat @ 12 kg", "tuck rock"]
    choices = [{"line": f["line"], "option": f["option"]} for f in mine if f["option"]]
    tried = ana.post(reverse("api-try", args=[streamed.pk]), {"mark": "2+9", "choices": choices})
    assert tried.status_code == 200
    credits = {row["done_as"]: row["credit"] for row in tried.json()["breakdown"]["rows"]}
    for fit in mine:
        assert credits[fit["label"]] == fit["credit"]


def test_what_cannot_be_kept_is_pointed_at(people):
    body = {"pieces": ["jetpack"], "loads": {"kettlebell": "many"}}
    told = problem(device(people.ana).put(reverse("api-gear"), body), 422)
    assert {e["pointer"] for e in told["errors"]} == {"/pieces", "/loads/kettlebell"}
    problem(device(people.ana).put(reverse("api-gear"), {"pieces": "all"}), 400)
