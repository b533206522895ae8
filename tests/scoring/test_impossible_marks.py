"""Marks that the estimate finds all but impossible are put to the coach, and nothing else."""

import random
from datetime import timedelta
from math import exp, log

import pytest
from django.urls import reverse
from django.utils import timezone

from scoring.core.estimation.ways import Way
from scoring.models import Fact, QuestionAnswer, Result
from scoring.selectors import estimates, impossible
from scoring.selectors.live import live_version
from scoring.selectors.questions import questions
from scoring.services.correcting import correct_result
from scoring.services.estimate_runs import ask
from scoring.services.estimating import estimate
from scoring.services.questions import answer_question
from scoring.services.submitting import ResultInput

from ..conftest import NOW, add_member
from .classes import log as logged
from .classes import make_class
from .credit_scenes import ROCKS
from .estimated import keep, learned
from .test_fairness import signed_in

pytestmark = pytest.mark.django_db

ROCK = Way("hollow rock")
TUCK = Way("hollow rock", "tuck rock")


@pytest.fixture
def rocks(people):
    return make_class(people, ROCKS)


def level_of(gym, reps):
    """The log slowness of somebody who does so many hollow rocks in ten minutes."""
    held = estimates.held(gym_id=gym.pk).estimate
    return -1.06 * log(reps * exp(held.cost[held.ways.position(ROCK)]) / 600)


def know(people, streamed, reps, *, spread=0.03, expected=(), results=(), **fields):
    """Members whose usual ten minutes are so many hollow rocks."""
    levels = [(level_of(people.gym, each), spread) for each in reps.values()]
    estimate = learned(
        people.gym,
        [(TUCK, 0.8, 0.02, 48)],
        levels=levels,
        expected=expected,
        classes=1 if expected else 0,
    )
    return keep(
        people.gym, estimate, members=list(reps), classes=[streamed] if expected else [],
        results=results, **fields,
    )  # fmt: skip


def asked(people, streamed):
    streamed.refresh_from_db()
    return questions(streamed_class=streamed, viewer=people.coach)


def test_a_mark_of_the_usual_pace_is_not_asked_about(people, rocks):
    know(people, rocks, {people.ana: 200, people.ben: 120})
    logged(rocks, people.ana, "20+3")
    logged(rocks, people.ben, "13+0", "tuck rock")
    assert asked(people, rocks) == []


def test_a_mark_that_is_nothing_like_its_member_is_asked_about_with_the_reason(people, rocks):
    know(people, rocks, {people.ana: 100, people.ben: 120})
    result = logged(rocks, people.ana, "20+0").result
    logged(rocks, people.ben, "12+0")
    [question] = asked(people, rocks)
    assert (question.kind, question.result) == ("unlike", result)
    # Twice the reps in the same time are 2^1.06 = 2.08 times the pace.
    assert question.reason.startswith("That would be 2.1 times their usual pace. From 1 result")
    # A tenth either way: 80 % of ± 0.099 in log time is 0.127, or 11 % of the reps.
    assert (
        "we'd expect between 8 rounds + 8 and 11 rounds + 2, four times in five." in question.reason
    )
    assert Result.objects.get(pk=result.pk).current.mark == "20+0"


def test_much_slower_is_asked_about_as_well(people, rocks):
    know(people, rocks, {people.ana: 200})
    logged(rocks, people.ana, "8+0")
    [question] = asked(people, rocks)
    assert question.reason.startswith("That would be 38 % of their usual pace.")


def test_the_option_that_was_used_counts_with_what_it_takes(people, rocks):
    # 25 rounds of tuck rocks at 0.8 are twenty of hollow rocks, which are usual.
    know(people, rocks, {people.ana: 200})
    logged(rocks, people.ana, "25+0", "tuck rock")
    assert asked(people, rocks) == []


def test_a_class_that_is_slow_as_a_whole_is_no_question_about_each(people, rocks):
    members = [add_member(people.gym, f"Member {n}") for n in range(6)]
    know(people, rocks, dict.fromkeys(members, 200))
    for member in members[:5]:
        logged(rocks, member, "12+0")
    assert asked(people, rocks) == []
    logged(rocks, members[5], "30+0")
    [question] = asked(people, rocks)
    assert question.result.member == members[5]


def test_what_was_found_right_stays_answered_and_a_correction_is_looked_at_anew(people, rocks):
    know(people, rocks, {people.ana: 100})
    result = logged(rocks, people.ana, "20+0").result
    [question] = asked(people, rocks)
    answer_question(
        streamed_class=rocks, fact_id=question.fact.pk, kind=question.kind, by=people.coach, now=NOW
    )
    assert asked(people, rocks) == [] and QuestionAnswer.objects.get().kind == "unlike"
    correct_result(
        result=result, by=people.coach, data=ResultInput(mark="21+0"), reason="recount", now=NOW
    )
    assert [each.fact.mark for each in asked(people, rocks)] == ["21+0"]


def test_a_newcomer_is_compared_with_what_members_do(people, rocks):
    # 1.4 seconds a rock: at the middle of levels 428 in ten minutes.
    know(people, rocks, {people.ana: 300})
    logged(rocks, people.cleo, "21+4")  # half of it: the spread of levels is a quarter
    assert asked(people, rocks) == []
    logged(rocks, people.cleo, "10+0")
    [question] = asked(people, rocks)
    assert question.reason.startswith(
        "That would be 21 % of what the gym's members usually do. From 312 results of others"
    )


def test_faster_than_anybody_in_the_gym_is_asked_as_such_and_only_once(people, rocks):
    # Nobody is on record above the bound of -0.5; four deviations of 0.094 below that are 2.4
    # times the middle's pace, which is 981 rocks. The catalogue itself would let 1,071 pass.
    know(people, rocks, {people.ana: 200, people.ben: 120}, spread=0.01)
    logged(rocks, people.ana, "99+0")
    [question] = asked(people, rocks)
    assert question.kind == "fast"
    assert "By what results say of these movements" in question.reason
    logged(rocks, people.ana, "60+0")
    assert [each.kind for each in asked(people, rocks)] == ["unlike"]


def test_a_result_that_the_estimate_was_fitted_to_is_asked_by_the_fits_own_figure(people, rocks):
    result = logged(rocks, people.ana, "20+0").result
    fact = Fact.objects.get(result=result)
    late = fact.created_at + timedelta(minutes=1)
    know(people, rocks, {people.ana: 200}, expected=[-4.5], results=[result], made_at=late)
    [question] = asked(people, rocks)
    assert question.kind == "unlike"
    # 4.5 deviations of a tenth in log time are 1.5 to 1.6 times the pace.
    assert question.reason.startswith("That would be 1.6 times their usual pace.")
    know(people, rocks, {people.ana: 100}, expected=[-3.9], results=[result], made_at=late)
    assert asked(people, rocks) == []


def test_a_correction_after_the_fit_is_compared_anew(people, rocks):
    result = logged(rocks, people.ana, "20+0").result
    early = Fact.objects.get(result=result).created_at - timedelta(minutes=1)
    know(people, rocks, {people.ana: 200}, expected=[-9.0], results=[result], made_at=early)
    assert asked(people, rocks) == []


def test_without_an_estimate_the_simple_questions_are_asked_as_before(people, rocks):
    logged(rocks, people.ana, "20+0")
    assert asked(people, rocks) == []
    logged(rocks, people.ben, "120+0")
    assert [each.kind for each in asked(people, rocks)] == ["fast"]


def test_whom_the_estimate_knows_is_not_asked_about_the_simple_way_too(people):
    others = [add_member(people.gym, f"Member {n}") for n in range(5)]
    for week in range(6, 0, -1):
        past = make_class(people, ROCKS)
        past.starts_at = NOW - timedelta(weeks=week)
        past.save()
        for member in (people.ana, *others):
            logged(past, member, "10+0")
    today = make_class(people, ROCKS)
    for member in others:
        logged(today, member, "10+0")
    logged(today, people.ana, "18+0")
    [simple] = asked(people, today)
    assert simple.kind == "unlike" and "of the class's middle pace" in simple.reason
    # By the estimate they have come to do so much: a good day, and no question.
    know(people, today, {people.ana: 160} | dict.fromkeys(others, 100))
    assert asked(people, today) == []
    # And whom it doesn't know is still asked about the simple way.
    know(people, today, dict.fromkeys(others, 100))
    assert [each.reason for each in asked(people, today)] == [simple.reason]


def test_a_lift_has_no_pace_to_be_odd(people):
    streamed = make_class(people, "Heavy three\nmax load, 3 reps\nback squat\n")
    know(people, make_class(people, ROCKS), {people.ana: 100})
    logged(streamed, people.ana, "80 kg")
    assert asked(people, streamed) == []


def test_the_live_page_shows_it_and_renews_with_a_new_estimate(people, rocks):
    logged(rocks, people.ana, "20+0")
    before = live_version(streamed_class=rocks, viewer=people.coach)
    know(people, rocks, {people.ana: 100})
    assert live_version(streamed_class=rocks, viewer=people.coach) != before
    page = signed_in(people.coach).get(reverse("class-manage", args=[rocks.pk])).text
    assert "That would be 2.1 times their usual pace." in page and "Looks right" in page


def test_of_a_gym_whose_results_are_fitted_only_the_planted_mark_is_asked_about(people, rocks):
    """Twelve members of steady pace in six classes, and one who writes twice their reps."""
    members = [add_member(people.gym, f"Member {n}") for n in range(12)]
    dice = random.Random(3)
    for week in range(6, 0, -1):
        past = make_class(people, ROCKS)
        past.starts_at = NOW - timedelta(weeks=week)
        past.save()
        for number, member in enumerate(members):
            reps = round((250 + 25 * number) * dice.gauss(1, 0.06))
            logged(past, member, f"{reps // 10}+{reps % 10}")
    for number, member in enumerate(members[1:], start=1):
        logged(rocks, member, f"{25 + 2 * number}+0")
    planted = logged(rocks, members[0], "52+0").result
    [simple] = asked(people, rocks)
    assert simple.result == planted and "of the class's middle pace" in simple.reason
    ask(gym=people.gym, by=None, now=NOW)
    assert estimate(gym_id=people.gym.pk, clock=timezone.now).state == "good"
    [question] = asked(people, rocks)
    assert (question.result, question.kind) == (planted, simple.kind)
    assert "times their usual pace. From 7 results of theirs" in question.reason


@pytest.mark.django_db(transaction=True)
def test_a_class_that_is_kept_compared_is_looked_at_anew_once_it_changes(people, rocks):
    """Outside a transaction, where a process keeps what it worked out."""
    know(people, rocks, {people.ana: 100, people.ben: 120})
    logged(rocks, people.ana, "20+0")
    first = asked(people, rocks)
    kept = impossible._judged.cache_info()
    assert asked(people, rocks) == first and len(first) == 1
    assert impossible._judged.cache_info().hits == kept.hits + 1
    logged(rocks, people.ben, "25+0")
    assert len(asked(people, rocks)) == 2
    know(people, rocks, {people.ana: 200, people.ben: 250})
    assert asked(people, rocks) == []
