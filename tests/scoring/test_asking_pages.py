"""Pages of pain told, of asking after the close, and of how one did."""

from datetime import timedelta

import pytest
from django.urls import reverse

from scoring.core.body import AREAS
from scoring.models import ChangeRequest, Fact, Pain
from scoring.services.classes import close_class, create_class, open_class

from ..conftest import NOW, TWO_LADDERS
from .classes import log, make_class
from .test_pages import text_of

KNEE = f"hurts-{AREAS.index('knee')}"


@pytest.fixture
def as_(client):
    def _as(member):
        client.force_login(member.user)
        return client

    return _as


def test_pain_is_told_with_the_result_answered_with_care_and_private(people, as_):
    streamed = make_class(people)
    page = reverse("class-log", args=[streamed.pk])
    sent = {"key": "k", "mark": "2+9", KNEE: "on", "hurts-words": "on the way down"}
    answer = as_(people.ana).post(page, sent)
    said = text_of(as_(people.ana).get(answer.url))
    assert "something hurts: knee. on the way down" in said and "physiotherapist" in said
    assert "on the way down" in as_(people.ana).get(page).content.decode()
    # The board's row opened by somebody else, their own page and the list say nothing.
    for member in (people.ben, people.foreigner):
        for url in (answer.url, reverse("class-board", args=[streamed.pk])):
            assert "knee." not in text_of(as_(member).get(url))
    coach = text_of(as_(people.coach).get(reverse("class-manage", args=[streamed.pk])))
    assert "Ana Sol: knee, “on the way down”" in coach
    # Sent again without it, it is taken back.
    as_(people.ana).post(page, {"key": "k2", "mark": "2+9"})
    assert not Pain.objects.exists() and Fact.objects.count() == 1


def test_a_result_that_is_refused_keeps_what_hurts_typed_and_nothing_kept(people, as_):
    streamed = make_class(people)
    sent = {"key": "k", "mark": "banana", KNEE: "on", "hurts-words": "ouch"}
    answer = as_(people.ana).post(reverse("class-log", args=[streamed.pk]), sent)
    assert answer.status_code == 422 and "ouch" in answer.content.decode()
    assert not Pain.objects.exists()


def test_after_the_close_the_same_page_asks_and_both_see_the_answer(people, as_):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    close_class(streamed_class=streamed, by=people.coach, now=NOW)
    page, manage = (
        reverse("class-log", args=[streamed.pk]),
        reverse("class-manage", args=[streamed.pk]),
    )
    form = as_(people.ana).get(page)
    assert "Ask my coach" in text_of(form) and "Send my result" not in text_of(form)
    # Sent like a log it is refused and nothing is lost.
    late = as_(people.ana).post(page, {"key": "k", "mark": "3+9"})
    assert late.status_code == 409 and "3+9" in late.content.decode()
    without = as_(people.ana).post(page, {"act": "ask", "mark": "3+9"})
    assert without.status_code == 422 and "few words" in text_of(without)
    asked = as_(people.ana).post(page, {"act": "ask", "mark": "3+9", "words": "one more round"})
    assert asked.status_code == 302
    assert "has not answered yet" in text_of(as_(people.ana).get(page))
    assert "Ana Sol, Two ladders and a tide" in text_of(as_(people.coach).get("/"))
    request = ChangeRequest.objects.get()
    assert "one more round" in text_of(as_(people.coach).get(manage))
    declined = as_(people.coach).post(
        manage, {"act": "decline", "request": request.pk, "words": ""}
    )
    assert declined.status_code == 422
    as_(people.coach).post(manage, {"act": "accept", "request": request.pk, "words": "seen it"})
    assert Fact.objects.latest("number").mark == "3+9"
    said = text_of(as_(people.ana).get(page))
    assert "Accepted by Carl Coach" in said and "“seen it”" in said


@pytest.mark.parametrize("sent", ["", "x", "9" * 30, "٣"])
def test_a_request_that_is_not_there_is_told(people, as_, sent):
    manage = reverse("class-manage", args=[make_class(people).pk])
    answer = as_(people.coach).post(manage, {"act": "accept", "request": sent})
    assert answer.status_code == 422 and "not of this class" in text_of(answer)


def test_a_coach_answers_no_request_of_another_gym(people, as_):
    streamed = make_class(people)
    close_class(streamed_class=streamed, by=people.coach, now=NOW)
    as_(people.ana).post(
        reverse("class-log", args=[streamed.pk]), {"act": "ask", "mark": "3+9", "words": "please"}
    )
    pk = ChangeRequest.objects.get().pk
    theirs = reverse("class-manage", args=[streamed.pk])
    assert (
        as_(people.foreign_coach).post(theirs, {"act": "accept", "request": pk}).status_code == 404
    )
    assert as_(people.ben).post(theirs, {"act": "accept", "request": pk}).status_code == 403
    assert not Fact.objects.exists()


def test_right_after_i_see_how_i_did(people, as_):
    for week, mark in enumerate(["2+9", "2+10"]):
        made = create_class(
            gym=people.gym,
            coach=people.coach,
            starts_at=NOW + timedelta(days=7 * week),
            text=TWO_LADDERS,
        )
        streamed = open_class(streamed_class=made, by=people.coach, now=NOW)
        log(streamed, people.ben, "2+0")
        result = log(streamed, people.ana, mark, "tuck rock" if week else "").result
        if not week:
            page = text_of(as_(people.ana).get(reverse("result", args=[result.pk])))
            assert "Your first time in this workout" in page
    said = text_of(as_(people.ana).get(reverse("result", args=[result.pk])))
    assert "Time 2; the best is 2 rounds + 9" in said
    assert "Reps 1 more" in said and "Done otherwise now tuck rock" in said
    assert "1. Ana Sol (you)" in said and "2. Ben Okoro" in said
    # Somebody else sees the breakdown, and nothing of another day.
    other = text_of(as_(people.ben).get(reverse("result", args=[result.pk])))
    assert "the best is" not in other and "Done otherwise now" not in other
