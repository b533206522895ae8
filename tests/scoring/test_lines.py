"""Logging for somebody in one line: at once, or asked; once; and undone."""

import pytest
from django.urls import reverse

from scoring.models import Fact, Result, Score
from scoring.problems import Refused
from scoring.services.classes import close_class
from scoring.services.lines import UNDONE, log_line, undo_line

from ..conftest import NOW, add_member
from .classes import log, make_class


def tell(people, streamed, line, key="k", **kwargs):
    return log_line(streamed_class=streamed, by=people.coach, line=line, key=key, now=NOW, **kwargs)


@pytest.fixture
def manage(people, client):
    """The class's page in a coach's hands: ``manage(streamed, **sent)``."""
    client.force_login(people.coach.user)

    def _manage(streamed, **sent):
        address = reverse("class-manage", args=[streamed.pk])
        return client.post(address, {"act": "line", "key": "k"} | sent)

    _manage.client = client
    return _manage


def test_a_clear_line_is_kept_at_once(people):
    streamed = make_class(people)
    done = tell(people, streamed, "ben 2+9 tuck, knee, effort 8").done
    assert (done.result.member, done.fact.mark, done.fact.effort) == (people.ben, "2+9", 8)
    assert done.fact.entered_by == people.coach and done.created
    # Tuck rocks and knee push-ups: 171 of 189 credited, one round and 15 reps.
    assert done.score.credited == "171" and done.score.adjusted_text == "1 round + 15"


def test_sent_twice_it_is_one_result(people):
    streamed = make_class(people)
    first = tell(people, streamed, "ben 2+9 tuck").done
    again = tell(people, streamed, "ben 2+9 tuck").done
    assert again.replayed and again.fact == first.fact and Fact.objects.count() == 1
    with pytest.raises(Refused) as refused:
        tell(people, streamed, "ben 2+8 tuck")
    assert refused.value.kind == "conflict" and Fact.objects.count() == 1


def test_which_of_two_is_asked_and_nothing_is_kept_until_it_is_said(people):
    other = add_member(people.gym, "Ana Lund")
    streamed = make_class(people)
    read = tell(people, streamed, "ana 2+9").read
    assert read.asks_member and set(read.candidates) == {people.ana, other}
    assert not Result.objects.exists()
    done = tell(people, streamed, "ana 2+9", member=other.pk).done
    assert done.result.member == other
    # Somebody whom the line can't mean is not taken.
    assert tell(people, streamed, "ana 2+9", key="k2", member=people.ben.pk).done is None


def test_what_a_word_means_is_asked(people):
    streamed = make_class(people)
    [doubt] = tell(people, streamed, "ben 3").read.reading.doubts
    assert doubt.choices == ("3 rounds", "3 reps") and not Result.objects.exists()
    assert tell(people, streamed, "ben 3", answers={"3": "3 reps"}).done.score.raw_reps == 3


def test_a_result_that_is_there_is_changed_only_if_that_is_meant_and_with_a_reason(people):
    streamed = make_class(people)
    log(streamed, people.ben, "2+9", note="hot", effort=7, splits={"1": "4:10"})
    asked = tell(people, streamed, "ben 3+1")
    assert asked.done is None and asked.read.asks_correction
    with pytest.raises(Refused, match="reason"):
        tell(people, streamed, "ben 3+1", correct=True)
    assert Fact.objects.count() == 1
    fact = tell(people, streamed, "ben 3+1, tired", correct=True, reason="told me").done.fact
    assert (fact.mark, fact.effort, fact.splits) == ("3+1", 7, "block 1 4:10")
    assert (fact.note, fact.reason) == ("hot\ntired", "told me")
    again = tell(people, streamed, "ben 3+1, tired", correct=True, reason="told me").done
    assert again.replayed and Fact.objects.count() == 2


def test_the_same_again_changes_nothing_and_needs_no_reason(people):
    streamed = make_class(people)
    first = log(streamed, people.ben, "2+9", "tuck rock", effort=7)
    done = tell(people, streamed, "ben 2+9 tuck").done
    assert done.replayed and done.fact == first.fact and Fact.objects.count() == 1


def test_splits_told_before_that_no_longer_fit_are_left_out(people):
    streamed = make_class(people)
    log(streamed, people.ben, "2+9", splits={"1": "4:10", "2": "9:00"})
    fact = tell(people, streamed, "ben 80 reps", correct=True, reason="misread").done.fact
    assert fact.mark.startswith("block 2 /") and "block 2" not in fact.splits


@pytest.mark.parametrize(
    ("line", "said"),
    [("zed 2+9", "Nobody here"), ("ben 2+90", "A round has 24"), ("ben", "no mark"), ("", "mark")],
)
def test_what_can_not_be_is_refused_with_what_would_be_right(people, line, said):
    streamed = make_class(people)
    with pytest.raises(Refused, match=said) as refused:
        tell(people, streamed, line)
    assert all(item.suggestion for item in refused.value.items) and not Result.objects.exists()


def test_in_a_closed_class_it_needs_a_reason(people):
    streamed = make_class(people)
    close_class(streamed_class=streamed, by=people.coach, now=NOW)
    streamed.refresh_from_db()
    with pytest.raises(Refused) as refused:
        tell(people, streamed, "ben 2+9")
    assert refused.value.kind == "closed"
    assert tell(people, streamed, "ben 2+9", reason="phone was flat").done.created


def test_only_the_gyms_coaches_log_so(people):
    streamed = make_class(people)
    for by in (people.ana, people.foreign_coach):
        with pytest.raises(Refused) as refused:
            log_line(streamed_class=streamed, by=by, line="ben 2+9", key="k", now=NOW)
        assert refused.value.kind == "forbidden"


def test_undone_a_first_result_is_off_the_board_and_stays_on_record(people):
    streamed = make_class(people)
    fact = tell(people, streamed, "ben 2+9").done.fact
    undone = undo_line(streamed_class=streamed, fact_id=fact.pk, by=people.coach, now=NOW)
    assert undone.is_withdrawn and undone.reason == UNDONE and not Score.objects.exists()
    with pytest.raises(Refused) as refused:
        undo_line(streamed_class=streamed, fact_id=fact.pk, by=people.coach, now=NOW)
    assert refused.value.kind == "conflict"


def test_undone_a_correction_is_what_it_was(people):
    streamed = make_class(people)
    log(streamed, people.ben, "2+9", "tuck rock", note="hot", effort=7)
    fact = tell(people, streamed, "ben 3+1", correct=True, reason="told me").done.fact
    undone = undo_line(streamed_class=streamed, fact_id=fact.pk, by=people.coach, now=NOW)
    assert (undone.mark, undone.options, undone.note, undone.effort) == (
        "2+9", "1.2 tuck rock", "hot", 7,
    )  # fmt: skip
    assert Score.objects.get().fact == undone


def test_what_a_member_or_another_coach_logged_is_not_undone(people):
    streamed = make_class(people)
    own = log(streamed, people.ben, "2+9").fact
    told = tell(people, streamed, "cleo 2+9").done.fact
    for fact, by in ((own, people.coach), (told, people.owner), (told, people.ana)):
        with pytest.raises(Refused) as refused:
            undo_line(streamed_class=streamed, fact_id=fact.pk, by=by, now=NOW)
        assert refused.value.kind == "forbidden"
    with pytest.raises(Refused, match="not of this class"):
        undo_line(streamed_class=make_class(people), fact_id=told.pk, by=people.coach, now=NOW)


def test_the_page_keeps_a_clear_line_shows_it_and_undoes_it(people, manage):
    streamed = make_class(people)
    answer = manage(streamed, line="ben 2+9 tuck, knee, effort 8")
    fact = Fact.objects.get()
    assert answer.url.endswith(f"?done={fact.pk}#log")
    page = manage.client.get(answer.url).content.decode()
    assert "tuck rock, knee push-up; effort 8" in page and "Adjusted: 1 round + 15" in page
    manage.client.post(
        reverse("class-manage", args=[streamed.pk]), {"act": "undo", "fact": fact.pk}
    )
    assert not Score.objects.exists()
    assert "line-done" not in manage.client.get(answer.url).content.decode()


def test_the_page_asks_what_is_doubtful_and_loses_nothing(people, manage):
    other = add_member(people.gym, "Ana Lund")
    streamed = make_class(people)
    answer = manage(streamed, line="ana 3 tuck")
    page = answer.content.decode()
    assert answer.status_code == 200 and 'value="ana 3 tuck"' in page and 'value="k"' in page
    assert f'name="member" value="{other.pk}"' in page and 'value="3 reps"' in page
    # One answer of two: the other is still asked, the first is kept.
    half = manage(
        streamed, line="ana 3 tuck", **{"part-1": "3", "answer-1": "3 rounds"}
    ).content.decode()
    assert 'name="answer-1" value="3 rounds"' in half and "3 reps" not in half
    assert not Result.objects.exists()
    done = manage(
        streamed, line="ana 3 tuck", member=other.pk, **{"part-1": "3", "answer-1": "3 rounds"}
    )
    assert done.status_code == 302 and Fact.objects.get().mark == "3+0"
    assert Result.objects.get().member == other


def test_the_page_asks_before_it_changes_what_is_there(people, manage):
    streamed = make_class(people)
    log(streamed, people.ben, "2+9", "tuck rock")
    page = manage(streamed, line="ben 3+1").content.decode()
    assert "has a result already" in page and "2+9" in page and "tuck rock" in page
    assert 'name="correct"' in page and Fact.objects.count() == 1
    manage(streamed, line="ben 3+1", correct="1", reason="told me")
    assert Fact.objects.latest("number").mark == "3+1"


def test_the_page_refuses_with_what_would_be_right_and_keeps_the_line(people, manage):
    answer = manage(make_class(people), line="zed 2+9")
    page = answer.content.decode()
    assert answer.status_code == 422 and "Nobody here is called" in page
    assert 'value="zed 2+9"' in page and 'aria-invalid="true"' in page


@pytest.mark.parametrize("sent", [{"line": "x" * 9000}, {"member": "²", "line": "ben"}, {}])
def test_odd_sends_are_refused_not_crashes(people, manage, sent):
    assert manage(make_class(people), **sent).status_code == 422
    streamed = make_class(people)
    for done in ("x", "99999", "9" * 40):
        assert (
            manage.client.get(
                reverse("class-manage", args=[streamed.pk]), {"done": done, "for": done}
            ).status_code
            == 200
        )
