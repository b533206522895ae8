"""An impossible mark is asked about before it is kept, is kept as it is if it is right, and
nothing is made of it until a coach has looked."""

import html
import re
from datetime import timedelta
from fractions import Fraction
from itertools import product

import pytest
from django.urls import reverse
from django.utils import timezone

from scoring import tasks
from scoring.core.credits import CreditTable
from scoring.mapping import course_of, rules_of
from scoring.models import Fact, QuestionAsked, Result, State
from scoring.selectors.asked_first import asked_first
from scoring.selectors.estimates import latest
from scoring.selectors.impossible import compared
from scoring.selectors.one_mark import member_at, one_mark
from scoring.selectors.questions import asked_marks, questions
from scoring.selectors.results import history
from scoring.services.correcting import correct_result
from scoring.services.credits import new_table
from scoring.services.own_data import own_data
from scoring.services.questions import answer_question
from scoring.services.reading import ResultInput, read_result

from ..conftest import NOW
from .classes import log as logged
from .classes import make_class
from .credit_scenes import MIXED, ROCKS
from .test_fairness import signed_in
from .test_impossible_marks import know

pytestmark = pytest.mark.django_db


@pytest.fixture
def rocks(people):
    return make_class(people, ROCKS)


def words(streamed, member, mark):
    result, _ = read_result(course_of(streamed), rules_of(streamed), ResultInput(mark=mark))
    return asked_first(streamed_class=streamed, member_id=member and member.pk, result=result)


def text_of(answer):
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


def test_the_question_says_what_was_to_be_expected(people, rocks):
    know(people, rocks, {people.ana: 100})
    assert words(rocks, people.ana, "10+0") == ""
    assert words(rocks, people.ana, "20+0") == (
        "That is more than we would expect of you (between 8 rounds + 8 and 11 rounds + 2). "
        "Is it right?"
    )
    assert words(rocks, people.ana, "99+0").startswith(
        "That is more than we would expect of anybody here (of you between 8 rounds + 8 and "
    )


def test_who_stopped_early_is_not_reproached(people, rocks):
    know(people, rocks, {people.ana: 200})
    asked = words(rocks, people.ana, "2+0")
    assert asked.startswith("That is less than we would expect of you (between ")
    assert asked.endswith("Is it right? Stopping early is always fine.")


def test_a_newcomer_is_asked_by_what_most_do_and_without_an_estimate_by_the_catalogue(
    people, rocks
):
    assert words(rocks, people.cleo, "20+0") == ""
    assert words(rocks, people.cleo, "120+0") == (
        "That is more than we would expect of anybody. Is it right?"
    )
    know(people, rocks, {people.ana: 300})
    assert words(rocks, people.cleo, "21+4") == ""
    assert "of most here (between" in words(rocks, people.cleo, "6+0")
    assert "of anybody here (of most here between" in words(rocks, None, "120+0")


def test_a_mark_is_asked_about_by_two_statements(people, rocks, django_assert_num_queries):
    know(people, rocks, {people.ana: 100})
    assert words(rocks, people.ana, "20+0")
    with django_assert_num_queries(2):  # the newest snapshot, and the newest credits
        assert words(rocks, people.ana, "20+1")


def test_a_mark_alone_is_compared_as_its_class_is(people):
    mixed = make_class(people, MIXED)
    estimate = know(people, mixed, {people.ana: 100}, expected=[-0.4])
    held = latest(gym_id=people.gym.pk)
    assert held.pk == estimate.pk and held.class_at(mixed.pk) == 0
    options = ("", "air squat", "tuck rock", "1.1 goblet squat @ 7 kg: 9", "1.2 tuck rock: 3")
    for mark, option, member in product(("0+0", "0+7", "3+14", "40+1"), options, people.members):
        data = ResultInput(mark=mark, options=option)
        if mark.startswith("0") and ":" in option:
            continue  # fewer reps than are said to be done otherwise
        result, _ = read_result(course_of(mixed), rules_of(mixed), data)
        whole = compared(mixed, course_of(mixed), held, [(1, member.pk, result)]).surprise
        at = member_at(held, member.pk)
        alone = one_mark(mixed, held, member=at, result=result).surprise
        for name in ("z", "excess", "slowness", "spread"):
            assert getattr(alone, name).tolist() == getattr(whole, name).tolist()


def test_new_credits_and_a_new_estimate_count_at_once(people, rocks):
    know(people, rocks, {people.ana: 100})
    pushes = make_class(people, "Pushes\namrap 10:00\n10 hand-release push-up\n  or knee push-up\n")

    def asked():
        data = ResultInput(mark="1+0", options="knee push-up")
        result, _ = read_result(course_of(pushes), rules_of(pushes), data)
        return asked_first(streamed_class=pushes, member_id=people.ana.pk, result=result)

    before = asked()
    assert before.startswith("That is less than we would expect of you (between ")
    worth = {("hand-release push-up", "knee push-up"): Fraction("0.4")}
    new_table(gym=people.gym, table=CreditTable(options=worth), by=None, reason="easier")
    now = asked()
    assert now != before and now.startswith("That is less than we would expect of you (between ")
    know(people, rocks, {people.ana: 200})
    assert asked() not in {before, now}


def test_a_lift_is_never_asked_about(people, rocks):
    know(people, rocks, {people.ana: 100})
    lift = make_class(people, "Heavy three\nmax load, 3 reps\nback squat\n")
    assert words(lift, people.ana, "80 kg") == ""


def test_a_member_is_asked_once_and_then_it_is_kept_as_it_is(people, rocks):
    know(people, rocks, {people.ana: 100})
    client, page = signed_in(people.ana), reverse("class-log", args=[rocks.pk])
    sent = {"key": "one", "mark": "70+0", "note": "felt good"}
    preview = client.post(reverse("class-log-try", args=[rocks.pk]), sent)
    assert "That is more than we would expect of" in text_of(preview)
    answer = client.post(page, sent)
    assert answer.status_code == 200 and not Result.objects.exists()
    assert "Nothing is saved yet." in text_of(answer) and "It is right, save it" in text_of(answer)
    assert 'value="70+0"' in answer.text and "felt good" in answer.text
    token = re.search(r'name="sure" value="(\w+)"', answer.text)[1]
    # For another odd mark it is asked again; for this one it is kept.
    assert client.post(page, {**sent, "mark": "71+0", "sure": token}).status_code == 200
    assert not Result.objects.exists()
    assert client.post(page, {**sent, "sure": token}).status_code == 302
    assert Fact.objects.get().mark == "70+0"


def test_an_ordinary_mark_is_kept_at_once(people, rocks):
    know(people, rocks, {people.ana: 100})
    page = reverse("class-log", args=[rocks.pk])
    assert signed_in(people.ana).post(page, {"key": "one", "mark": "10+0"}).status_code == 302


def test_a_coach_is_asked_in_the_line_and_has_it_kept_by_saying_so(people, rocks):
    know(people, rocks, {people.ana: 100})
    client, page = signed_in(people.coach), reverse("class-manage", args=[rocks.pk])
    line = {"act": "line", "key": "one", "line": "Ana 20+0"}
    asked = client.post(page, line)
    assert "That is more than we would expect of them (between 8 rounds + 8" in text_of(asked)
    assert not Result.objects.exists()
    part = re.search(r'name="part-1" value="([^"]+)"', asked.text)[1]
    right = {"part-1": html.unescape(part), "answer-1": "it is right"}
    assert client.post(page, line | right).status_code == 302
    assert Fact.objects.get().mark == "20+0"


def test_a_program_has_it_kept_and_is_told_the_question(people, rocks):
    know(people, rocks, {people.ana: 100})
    client = signed_in(people.ana)
    address = reverse("api-results", args=[rocks.pk])
    given = {"content_type": "application/json", "headers": {"Idempotency-Key": "one"}}
    answer = client.post(address, {"mark": "20+0"}, **given)
    assert answer.status_code == 201
    assert answer.json()["question"].startswith("That would be 2.1 times their usual pace.")
    usual = client.post(address, {"mark": "10+0"}, **given | {"headers": {"Idempotency-Key": "2"}})
    assert usual.json()["question"] == ""


def test_while_the_question_is_open_nothing_is_made_of_the_mark(people, rocks):
    past = make_class(people, ROCKS)
    past.starts_at = NOW - timedelta(weeks=1)
    past.save()
    logged(past, people.ana, "10+0")
    know(people, rocks, {people.ana: 100})
    result = logged(rocks, people.ana, "20+0").result
    client = signed_in(people.ana)
    page = text_of(client.get(reverse("result", args=[result.pk])))
    assert "Your coach will look at this mark" in page
    assert not any(said in page for said in ("Your best", "ahead of", "How sure the rank is"))
    assert "your coach will look at this mark" in text_of(client.get(reverse("history")))
    assert "Your coach will look" not in text_of(
        signed_in(people.ben).get(reverse("result", args=[result.pk]))
    )
    newest, before = history(member=people.ana, viewer=people.ana)
    assert (newest.is_asked, newest.change, before.is_asked) == (True, None, False)
    [question] = questions(streamed_class=rocks, viewer=people.coach)
    answer_question(
        streamed_class=rocks, fact_id=question.fact.pk, kind=question.kind, by=people.coach, now=NOW
    )
    page = text_of(client.get(reverse("result", args=[result.pk])))
    assert "Your best of 2 times" in page and "Your coach will look" not in page


def test_a_question_stays_when_the_class_is_learned_from_until_it_is_answered(people, rocks):
    know(people, rocks, {people.ana: 100})
    result = logged(rocks, people.ana, "20+0").result
    tasks.estimate(people.gym.pk)  # nothing waits: only what is asked is kept
    tasks.estimate(people.gym.pk)
    kept = QuestionAsked.objects.get()
    assert (kept.fact, kept.member, kept.kind) == (result.current, people.ana, "unlike")
    # The new estimate has come to think of them so.
    late = Fact.objects.get().created_at + timedelta(minutes=1)
    know(people, rocks, {people.ana: 200}, expected=[-3.0], results=[result], made_at=late)
    rocks.refresh_from_db()
    [question] = questions(streamed_class=rocks, viewer=people.coach)
    assert question.reason == kept.reason
    assert asked_marks([Result.objects.get().score])
    answer_question(
        streamed_class=rocks, fact_id=question.fact.pk, kind=question.kind, by=people.coach, now=NOW
    )
    assert questions(streamed_class=rocks, viewer=people.coach) == []
    assert not asked_marks([Result.objects.get().score])


def test_a_kept_question_goes_with_the_mark_it_was_about(people, rocks):
    know(people, rocks, {people.ana: 100})
    result = logged(rocks, people.ana, "20+0").result
    tasks.estimate(people.gym.pk)
    correct_result(
        result=result, by=people.coach, data=ResultInput(mark="10+0"), reason="a slip", now=NOW
    )
    rocks.refresh_from_db()
    assert questions(streamed_class=rocks, viewer=people.coach) == []


def test_what_was_asked_is_in_the_members_own_copy(people, rocks):
    know(people, rocks, {people.ana: 100})
    logged(rocks, people.ana, "20+0")
    tasks.estimate(people.gym.pk)
    [row] = own_data(people.ana.user)["results_asked_about"]
    assert (row["mark"], row["asked_about"]) == ("20+0", "unlike")


def test_the_review_and_the_coachs_first_page_count_what_waits(people, rocks):
    know(people, rocks, {people.ana: 100, people.ben: 100})
    logged(rocks, people.ben, "10+0")
    logged(rocks, people.ana, "20+0")
    rocks.starts_at = timezone.now() - timedelta(minutes=30)
    rocks.save()
    client = signed_in(people.coach)
    where = f'href="{reverse("class-manage", args=[rocks.pk])}#questions"'
    for state in (State.OPEN, State.CLOSED):
        rocks.state, rocks.closed_at = state, NOW if state == State.CLOSED else None
        rocks.save()
        home = client.get(reverse("home")).text
        assert "1 result to look at" in home and where in home
    review = client.get(reverse("class-review", args=[rocks.pk])).text
    assert "1 result to look at" in review and where in review and "1 farther: asked" in review
    assert 'id="questions"' in client.get(reverse("class-manage", args=[rocks.pk])).text
