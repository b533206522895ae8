"""Opening a result of an open class costs the same however many logged: the class is compared
as a whole now and then, and what is newer by itself."""

from threading import Event, Thread

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scoring.mapping import course_of
from scoring.models import Result
from scoring.selectors import impossible, judged_lately, lately
from scoring.selectors.questions import asked_marks, questions
from scoring.selectors.results import breakdown_for, history, result_for
from scoring.services.classes import close_class
from scoring.services.correcting import correct_result
from scoring.services.questions import answer_question
from scoring.services.submitting import ResultInput

from ..conftest import NOW, add_member
from .classes import log as logged
from .classes import make_class
from .credit_scenes import ROCKS
from .test_fairness import signed_in
from .test_impossible_marks import know

pytestmark = pytest.mark.django_db(transaction=True)  # inside a transaction nothing is kept


class Clock:
    def __init__(self):
        self.now = 1000.0

    def __call__(self):
        return self.now

    def passes(self, seconds=lately.LATELY_SECONDS):
        self.now += seconds


@pytest.fixture
def clock(monkeypatch):
    clock = Clock()
    monkeypatch.setattr(lately, "monotonic", clock)
    return clock


@pytest.fixture
def wholes(monkeypatch):
    """How many marks each whole comparison of a class read."""
    read = []

    class Counted(impossible._Comparing):
        def __init__(self, *args):
            super().__init__(*args)
            read.append(len(self.scores))

    monkeypatch.setattr(impossible, "_Comparing", Counted)
    return read


@pytest.fixture
def rocks(people):
    """A class of seven who usually do ten rounds, of whom five have logged so."""
    people.crowd = [add_member(people.gym, f"Member {n}") for n in range(5)]
    rocks = make_class(people, ROCKS)
    know(people, rocks, dict.fromkeys([people.ana, people.ben, *people.crowd], 100))
    for member in people.crowd:
        logged(rocks, member, "10+0")
    return rocks


def opened(member):
    """The question on a member's own newest result."""
    pk = Result.objects.filter(member=member, score__isnull=False).latest("pk").pk
    return breakdown_for(result=result_for(viewer=member, pk=pk), viewer=member).question


def test_of_many_who_log_and_look_the_class_is_read_once(people, rocks, clock, wholes):
    for member in people.crowd:
        logged(rocks, member, "10+1")
        assert opened(member) == ""
        history(member=member, viewer=member)
    assert wholes == [5]


def test_an_impossible_mark_is_asked_about_at_once_beside_an_older_judgement(
    people, rocks, clock, wholes
):
    assert opened(people.crowd[0]) == ""
    logged(rocks, people.ana, "20+0")
    assert opened(people.ana).startswith("That would be 2.1 times their usual pace. From 1 result")
    logged(rocks, people.ben, "99+0")
    assert "somebody faster than anybody so far" in opened(people.ben)
    page = signed_in(people.ana).get(reverse("result", args=[Result.objects.latest("pk").pk - 1]))
    assert "Your coach will look at this mark" in page.text
    # Once put right it isn't any more; the old fact isn't what is asked about.
    result = Result.objects.get(member=people.ana)
    correct_result(
        result=result, by=people.coach, data=ResultInput(mark="10+0"), reason="a slip", now=NOW
    )
    assert opened(people.ana) == "" and wholes == [5]


def test_a_newer_mark_costs_no_more_in_a_larger_class(people, rocks, clock):
    def cost():
        logged(rocks, people.ana, "20+0")
        score = Result.objects.select_related("score").get(member=people.ana).score
        with CaptureQueriesContext(
            connection,
        ) as asked:
            assert asked_marks([score])
        return len(asked)

    opened(people.crowd[0])
    small = cost()
    for n in range(20):
        logged(rocks, add_member(people.gym, f"Late {n}"), "10+0")
    assert cost() == small


def test_what_the_others_say_of_the_class_counts_for_a_newer_mark(people, rocks, clock, wholes):
    # All of them do two thirds today: who comes later and does so too is no oddity.
    for member in people.crowd:
        logged(rocks, member, "6+7")
    assert opened(people.crowd[0]) == ""
    score = logged(rocks, people.ana, "6+7").result.score
    held = impossible.latest(gym_id=people.gym.pk)
    assert judged_lately.judged_alone(rocks, score, held, None).unlike  # by itself it would be
    assert opened(people.ana) == "" and wholes == [5]


def test_a_judgement_is_renewed_after_its_time_if_the_class_changed(people, rocks, clock, wholes):
    opened(people.crowd[0])
    clock.passes(lately.LATELY_SECONDS - 1)
    logged(rocks, people.ana, "20+0")
    assert opened(people.ana) and wholes == [5]
    clock.passes(1)
    assert opened(people.ana) and opened(people.crowd[0]) == "" and wholes == [5, 6]
    clock.passes()
    assert opened(people.ana) and wholes == [5, 6]


def test_once_the_class_is_closed_it_is_judged_as_it_is(people, rocks, clock, wholes):
    opened(people.crowd[0])
    result = logged(rocks, people.ana, "20+0").result
    rocks.refresh_from_db()
    close_class(streamed_class=rocks, by=people.coach, now=NOW)
    rocks.refresh_from_db()
    asked = opened(people.ana)
    assert wholes == [5, 6] and asked == impossible.judged(rocks).unlike[result.current_id]
    correct_result(
        result=result, by=people.coach, data=ResultInput(mark="21+0"), reason="count", now=NOW
    )
    assert opened(people.ana) not in {"", asked} and wholes == [5, 6, 6]


def test_coaches_are_asked_about_the_class_as_it_is(people, rocks, clock, wholes):
    opened(people.crowd[0])
    logged(rocks, people.ana, "20+0")
    rocks.refresh_from_db()
    [question] = questions(streamed_class=rocks, viewer=people.coach)
    assert wholes == [5, 6] and question.result.member == people.ana
    answer_question(
        streamed_class=rocks, fact_id=question.fact.pk, kind=question.kind, by=people.coach, now=NOW
    )
    assert opened(people.ana) == ""  # an answer counts at once


def test_a_new_estimate_judges_anew(people, rocks, clock, wholes):
    logged(rocks, people.ana, "20+0")
    assert opened(people.ana)
    know(people, rocks, {people.ana: 200})
    assert opened(people.ana) == "" and wholes == [6, 6]


def test_inside_a_transaction_nothing_is_kept(people, rocks, clock, wholes):
    with transaction.atomic():
        opened(people.crowd[0])
        opened(people.crowd[0])
    assert wholes == [5, 5] and not len(judged_lately._lately)


def test_what_is_kept_can_be_forgotten(people, rocks, clock, wholes):
    opened(people.crowd[0])
    logged(rocks, people.ana, "10+0")
    judged_lately.forget()
    opened(people.crowd[0])
    assert wholes == [5, 6]


def test_whoever_asks_while_another_judges_compares_their_own_alone(
    people, rocks, clock, wholes, monkeypatch
):
    logged(rocks, people.ana, "20+0")
    begun, may_end, whole = Event(), Event(), judged_lately.judged_by

    def slowly(*args):
        begun.set()
        assert may_end.wait(20)
        return whole(*args)

    monkeypatch.setattr(judged_lately, "judged_by", slowly)

    def look():
        try:
            opened(people.crowd[0])
        finally:
            connection.close()

    other = Thread(target=look)
    other.start()
    try:
        assert begun.wait(20)
        assert opened(people.ana) and wholes == []
    finally:
        may_end.set()
        other.join()
    assert opened(people.crowd[1]) == "" and wholes == [6]


def test_alone_every_mark_is_told_what_a_class_of_it_alone_is_told(people, rocks):
    logged(rocks, people.ana, "20+0")
    logged(rocks, people.ben, "25+0", "tuck rock")
    logged(rocks, people.cleo, "99+0")
    for member, mark in zip(people.crowd, ("0+0", "0+1", "3+4", "16+0", "40+0"), strict=True):
        logged(rocks, member, mark)
    rocks.refresh_from_db()
    held = impossible.latest(gym_id=people.gym.pk)
    scores = list(rocks.scores.select_related("fact", "result"))
    for score in scores:
        told = [(1, score.result.member_id, read(score, rocks))]
        found = impossible.compared(rocks, course_of(rocks), held, told)
        z = found.surprise.z.tolist()
        alone = judged_lately.judged_alone(rocks, score, held, None)
        assert bool(alone.unlike) == bool(z and abs(z[0]) > 4), score.fact.mark
    assert len(scores) == 8


def read(score, streamed):
    fact = score.fact
    text, weighted = streamed.workout.text, streamed.weighted
    return impossible.read_fact(text, weighted, fact.mark, fact.options, fact.splits)
