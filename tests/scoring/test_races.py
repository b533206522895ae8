"""Many phones at once, on real connections: one result each, right ranks."""

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection

from scoring.core.ranking import Entry, competition_ranks
from scoring.models import Fact, Result, Score, StreamedClass
from scoring.problems import Refused
from scoring.selectors.boards import board
from scoring.services.classes import close_class

from ..conftest import NOW, add_member, make_people
from .classes import log, make_class

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(acts):
    """Run acts together on connections of their own; exceptions are answers too."""
    gate = threading.Barrier(len(acts))

    def run(act):
        try:
            gate.wait(timeout=10)
            return act()
        except Refused as refused:
            return refused
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(run, acts))


def test_a_flaky_phone_sending_five_times_at_once_is_one_result():
    people = make_people()
    streamed = make_class(people)
    answers = at_once([lambda: log(streamed, people.ana, "2+9", key="same")] * 5)
    assert len({answer.fact.pk for answer in answers}) == 1
    assert sorted(answer.replayed for answer in answers) == [False, True, True, True, True]
    assert (Result.objects.count(), Fact.objects.count(), Score.objects.count()) == (1, 1, 1)


def test_eight_members_at_once_are_eight_results_with_right_ranks():
    people = make_people()
    streamed = make_class(people)
    members = [add_member(people.gym, f"M {i}") for i in range(8)]
    at_once([lambda m=m, i=i: log(streamed, m, f"{i // 2}+0") for i, m in enumerate(members)])
    streamed = StreamedClass.objects.get(pk=streamed.pk)
    scores = list(Score.objects.all())
    assert len(scores) == 8
    shown = board(streamed_class=streamed, viewer=people.coach, now=NOW)
    expected = sorted(competition_ranks([Entry(s.key, s.tie_key, "") for s in scores]))
    assert [row.rank for row in shown.rows] == expected == [1, 1, 3, 3, 5, 5, 7, 7]


def test_different_results_at_once_are_facts_in_a_row():
    people = make_people()
    streamed = make_class(people)
    at_once([lambda i=i: log(streamed, people.ana, f"{i}+0") for i in range(5)])
    facts = list(Fact.objects.order_by("number"))
    assert [fact.number for fact in facts] == [1, 2, 3, 4, 5]
    assert Score.objects.get().fact == facts[-1] == Result.objects.get().current


def test_a_result_and_the_closing_of_its_class_never_both_half_happen():
    people = make_people()
    streamed = make_class(people)
    answers = at_once(
        [
            lambda: log(streamed, people.ana, "2+9"),
            lambda: close_class(streamed_class=streamed, by=people.coach, now=NOW),
        ]
    )
    was_refused = isinstance(answers[0], Refused)
    assert Score.objects.count() == (0 if was_refused else 1)
    if was_refused:
        assert answers[0].kind == "closed"
