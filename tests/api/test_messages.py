"""What a member wants by e-mail, by the API."""

from django.urls import reverse

from .conftest import device, problem

WANTED = {
    "kinds": {
        "opened": False, "reminder": True, "corrected": True, "answered": True, "weekly": True,
        "closed": False,
        "follow_up": False,
    },
    "quiet_from": "22:00",
    "quiet_until": "06:30",
}  # fmt: skip


def test_what_is_put_is_what_is_got(people):
    ana = device(people.ana)
    before = ana.get(reverse("api-messages")).json()
    assert before["kinds"]["opened"] and not before["kinds"]["weekly"]
    assert (before["quiet_from"], before["quiet_until"]) == ("21:00", "07:00")
    assert not before["has_proven_address"]
    assert ana.put(reverse("api-messages"), WANTED).json() == WANTED | {"has_proven_address": False}
    assert ana.get(reverse("api-messages")).json() == WANTED | {"has_proven_address": False}
    assert device(people.ben).get(reverse("api-messages")).json() == before


def test_what_cannot_be_kept_is_pointed_at(people):
    ana = device(people.ana)
    told = problem(ana.put(reverse("api-messages"), WANTED | {"quiet_from": "late"}), 400)
    assert told["errors"][0]["pointer"] == "/quiet_from"
    problem(ana.put(reverse("api-messages"), WANTED | {"kinds": {"opened": True}}), 400)
    assert ana.get(reverse("api-messages")).json()["kinds"]["opened"]
