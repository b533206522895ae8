"""Following up by the API: the same list, acts, drafts and letters as on the pages."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from scoring.core.follow_up import Reason
from scoring.models import FollowUp, FollowUpLetter
from scoring.services.classes import create_class, open_class
from scoring.services.pains import tell_pain

from ..conftest import TWO_LADDERS
from ..scoring.classes import log
from ..scoring.mail import prove
from .conftest import device, problem


@pytest.fixture
def streamed(people):
    now = timezone.now()
    at = now - timedelta(hours=2)
    made = create_class(gym=people.gym, coach=people.coach, starts_at=at, text=TWO_LADDERS)
    made = open_class(streamed_class=made, by=people.coach, now=at)
    log(made, people.ana, "2+9", effort=10)
    tell_pain(streamed_class=made, member=people.ana, areas=["knee"], words="ouch", now=now)
    return made


@pytest.fixture
def coach(people, streamed):
    return device(people.coach)


def of(name, member):
    return reverse(name, args=[member.pk])


def test_the_list_its_class_and_its_pages(coach, people, streamed):
    told = coach.get(reverse("api-follow-ups")).json()
    assert told["count"] == 1
    [person] = told["results"]
    assert (person["member"], person["name"]) == (people.ana.pk, "Ana Sol")
    assert [each["reason"] for each in person["reasons"]] == ["pain", "effort", "first"]
    assert person["reasons"][0]["class"] == streamed.pk and person["reasons"][0]["cautions"]
    only = coach.get(reverse("api-follow-ups"), {"class": streamed.pk, "limit": 1}).json()
    assert only["results"] == [person]
    problem(coach.get(reverse("api-follow-ups"), {"class": "x"}), 400)
    problem(coach.get(reverse("api-follow-ups"), {"class": streamed.pk + 9}), 404)


def test_acts_are_listed_and_taken_back(coach, people):
    act = of("api-follow-up", people.ana)
    done = coach.post(act, {"act": "done", "reason": "effort"}, format="json").json()
    assert (done["state"], done["reason"], done["by"]) == ("done", "effort", "Carl Coach")
    problem(coach.post(act, {"act": "done", "reason": "effort"}, format="json"), 409)
    problem(coach.post(act, {"act": "later", "reason": "first"}, format="json"), 422)
    until = (timezone.now() + timedelta(days=3)).date().isoformat()
    later = coach.post(act, {"act": "later", "reason": "first", "until": until}, format="json")
    assert later.json()["until"] == until
    problem(coach.post(act, {"act": "never", "reason": "pain"}, format="json"), 422)
    assert coach.post(act, {"act": "never", "reason": "best"}, format="json").status_code == 200
    away = coach.get(reverse("api-follow-ups-away")).json()["results"]
    assert [row["state"] for row in away] == ["never", "later", "done"]
    for row in away:
        one = reverse("api-follow-up-away", args=[row["id"]])
        assert coach.delete(one).status_code == 204
        problem(coach.delete(one), 404)
    open_now = coach.get(act).json()
    assert [each["reason"] for each in open_now["reasons"]] == ["pain", "effort", "first"]
    assert FollowUp.objects.count() == 6


def test_a_draft_is_sent_once_for_its_key(coach, people):
    asked = coach.get(of("api-follow-up-draft", people.ana), {"reason": "first"}).json()
    assert asked["words"].startswith("Hello Ana,") and "no confirmed" in asked["unreachable"]
    letters = of("api-follow-up-letters", people.ana)
    sent = {"reason": "first", "words": "Welcome", "key": "k"}
    told = problem(coach.post(letters, sent, format="json"), 409)
    assert "no confirmed e-mail" in str(told)
    prove(people.ana)
    first, again = (coach.post(letters, sent, format="json") for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json()["state"] == "waiting" and first.json()["by"] == "Carl Coach"
    assert FollowUpLetter.objects.count() == 1
    problem(coach.post(letters, sent | {"key": "other"}, format="json"), 409)
    problem(coach.post(letters, sent | {"reason": "effort", "key": "b", "words": "{name}"},
                       format="json"), 422)  # fmt: skip
    assert len(coach.get(of("api-follow-up", people.ana)).json()["letters"]) == 1


def test_the_draft_about_a_pain_says_what_stands_below_it(coach, people):
    told = coach.get(of("api-follow-up-draft", people.ana), {"reason": "pain"}).json()
    assert any("physiotherapist" in each for each in told["added"])


def test_words_and_days(coach, people):
    words = coach.get(reverse("api-follow-up-words")).json()
    assert [each["reason"] for each in words] == [reason.value for reason in Reason]
    one = reverse("api-follow-up-words-one", args=["best"])
    kept = coach.put(one, {"text": "Hi {name}", "whose": "gym"}, format="json").json()
    assert (kept["gym"], kept["own"], kept["in_use"]) == ("Hi {name}", "", "Hi {name}")
    told = problem(coach.put(one, {"text": "Hi {days}"}, format="json"), 422)
    assert "{name}, {coach}, {gym}, {class}, {result}" in str(told)
    assert coach.delete(one + "?whose=gym").json()["gym"] == ""
    problem(coach.delete(reverse("api-follow-up-words-one", args=["gossip"])), 404)
    days = reverse("api-follow-up-settings")
    assert coach.get(days).json() == {"silent_days": 14}
    assert coach.put(days, {"silent_days": 30}, format="json").json() == {"silent_days": 30}
    problem(coach.put(days, {"silent_days": 1}, format="json"), 400)


def test_it_is_for_coaches_of_the_gym(people, streamed):
    for who in (people.ana, people.ben):
        problem(device(who).get(reverse("api-follow-ups")), 403)
    stranger = device(people.foreign_coach)
    assert stranger.get(reverse("api-follow-ups")).json()["count"] == 0
    problem(stranger.get(of("api-follow-up", people.ana)), 404)
