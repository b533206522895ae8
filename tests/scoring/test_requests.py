"""After a class is closed a member asks, a coach answers, and both see it."""

import pytest

from scoring.models import ChangeRequest, Fact, State
from scoring.problems import Refused
from scoring.selectors.requests import request_for, requests_of, waiting_requests
from scoring.services.classes import close_class
from scoring.services.requests import answer_request, ask_for_change
from scoring.services.submitting import ResultInput

from ..conftest import NOW
from .classes import log, make_class


@pytest.fixture
def closed(people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9", "tuck rock", note="hot day", effort=8)
    return close_class(streamed_class=streamed, by=people.coach, now=NOW)


def ask(streamed, member, mark="3+9", words="I counted the last round twice", **data):
    return ask_for_change(
        streamed_class=streamed,
        member=member,
        data=ResultInput(mark=mark, **data),
        words=words,
        now=NOW,
    )


def answer(request, by, accept=True, words="fine"):
    return answer_request(request=request, by=by, accept=accept, words=words, now=NOW)


def test_an_accepted_request_is_a_correction_with_its_reason(people, closed):
    request = ask(closed, people.ana, options="tuck rock")
    assert Fact.objects.count() == 1 and request.answer == "waiting"
    done = answer(request, people.coach)
    fact = Fact.objects.latest("number")
    assert (fact.mark, fact.options, fact.entered_by) == ("3+9", "1.2 tuck rock", people.coach)
    assert "counted the last round twice" in fact.reason
    # The note and the effort are left as they were.
    assert (fact.note, fact.effort) == ("hot day", 8)
    assert (done.answer, done.answer_words, done.answered_by) == ("accepted", "fine", people.coach)


def test_somebody_who_never_logged_can_ask_too(people, closed):
    answer(ask(closed, people.ben), people.coach)
    assert Fact.objects.get(result__member=people.ben).mark == "3+9"


def test_a_declined_request_changes_nothing_and_needs_a_word(people, closed):
    request = ask(closed, people.ana)
    with pytest.raises(Refused):
        answer(request, people.coach, accept=False, words=" ")
    request.refresh_from_db()
    assert request.answer == "waiting"
    answer(request, people.coach, accept=False, words="The recording shows 2+9")
    assert Fact.objects.count() == 1


def test_a_request_is_answered_once(people, closed):
    request = ask(closed, people.ana)
    answer(request, people.coach, accept=False, words="no")
    with pytest.raises(Refused) as refused:
        answer(request, people.owner)
    assert refused.value.kind == "conflict" and Fact.objects.count() == 1


def test_asked_again_it_takes_the_place_of_the_one_that_waits(people, closed):
    ask(closed, people.ana)
    ask(closed, people.ana, mark="4+0")
    assert ChangeRequest.objects.get().mark == "4+0"
    answer(ChangeRequest.objects.get(), people.coach, accept=False, words="no")
    ask(closed, people.ana, mark="2+10")
    assert ChangeRequest.objects.count() == 2


def test_what_could_not_be_scored_is_not_asked_for(people, closed):
    with pytest.raises(Refused) as refused:
        ask(closed, people.ana, mark="12:00")
    assert refused.value.items[0].column == "mark"
    with pytest.raises(Refused):
        ask(closed, people.ana, words="")
    assert not ChangeRequest.objects.exists()


def test_an_open_class_is_changed_without_asking(people):
    streamed = make_class(people)
    assert streamed.state == State.OPEN
    with pytest.raises(Refused) as refused:
        ask(streamed, people.ana)
    assert refused.value.kind == "conflict"


def test_who_asks_who_sees_who_answers(people, closed):
    with pytest.raises(Refused):
        ask(closed, people.foreigner)
    request = ask(closed, people.ana)
    for member in (people.ana, people.ben, people.foreign_coach):
        with pytest.raises(Refused) as refused:
            answer(request, member)
        assert refused.value.kind == "forbidden"
    sees = {
        name: request in requests_of(streamed_class=closed, viewer=getattr(people, name))
        for name in ("ana", "ben", "coach", "owner", "foreigner", "foreign_coach")
    }
    assert sees == {
        "ana": True, "ben": False, "coach": True, "owner": True,
        "foreigner": False, "foreign_coach": False,
    }  # fmt: skip
    assert list(waiting_requests(viewer=people.coach)) == [request]
    assert not waiting_requests(viewer=people.ana).exists()
    assert not waiting_requests(viewer=people.foreign_coach).exists()
    assert request_for(viewer=people.coach, pk=request.pk) == request
    assert request_for(viewer=people.foreign_coach, pk=request.pk) is None
    assert request_for(viewer=people.ana, pk=request.pk) is None
