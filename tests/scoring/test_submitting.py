"""Logging a result: once, whole, and never silently changed."""

import pytest

from members.models import Membership
from scoring.models import Fact, Result, Score, Submission, Workout
from scoring.models.immutable import ImmutableError
from scoring.problems import Refused
from scoring.services.classes import close_class, reopen_class
from scoring.services.correcting import correct_result, withdraw_result
from scoring.services.submitting import ChoiceInput, ResultInput, submit_result
from scoring.services.workouts import save_workout

from ..conftest import FOR_TIME, NOW
from .classes import log, make_class


def counts():
    return Result.objects.count(), Fact.objects.count(), Score.objects.count()


def test_a_result_is_logged_and_scored(people):
    streamed = make_class(people)
    sent = log(streamed, people.ana, "2+9", "tuck rock; knee push-up")
    assert sent.created and not sent.replayed
    assert sent.score.raw_reps == 189 and sent.score.credited == "171"
    assert sent.score.adjusted_text == "1 round + 15"
    assert sent.fact.mark == "2+9"


def test_choices_by_line_say_the_same_as_options_by_name(people):
    streamed = make_class(people)
    by_line = (ChoiceInput("1.2", "tuck rock"), ChoiceInput("2.2", "knee push-up", 10))
    one = log(streamed, people.ana, "2+9", choices=by_line)
    two = log(streamed, people.ben, "2+9", "tuck rock; knee push-up: 10")
    assert one.score.credited == two.score.credited == "177"
    assert one.fact.options == two.fact.options


def test_the_class_in_hand_knows_what_the_database_counted(people):
    streamed = make_class(people)
    for number, (member, options) in enumerate(
        [(people.ana, ""), (people.ben, "tuck rock"), (people.cleo, "")], start=1
    ):
        log(streamed, member, f"2+{number}", options)
        told = (streamed.board_version, streamed.board_entries, streamed.board_prescribed)
        streamed.refresh_from_db()
        kept = (streamed.board_version, streamed.board_entries, streamed.board_prescribed)
        assert told == kept and kept[1] == number


def test_the_same_key_and_data_again_changes_nothing(people):
    streamed = make_class(people)
    first = log(streamed, people.ana, "2+9", key="one")
    streamed.refresh_from_db()
    version = streamed.board_version
    again = log(streamed, people.ana, "2+9", key="one")
    assert again.replayed and again.created and again.fact == first.fact
    streamed.refresh_from_db()
    assert counts() == (1, 1, 1) and streamed.board_version == version


def test_the_same_key_with_other_data_is_a_conflict(people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9", key="one")
    with pytest.raises(Refused) as refused:
        log(streamed, people.ana, "2+10", key="one")
    assert refused.value.kind == "conflict" and counts() == (1, 1, 1)


def test_the_same_result_under_another_key_adds_no_fact(people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9", key="one")
    again = log(streamed, people.ana, "2 rounds + 9 reps", key="two")
    assert again.replayed and counts() == (1, 1, 1)
    assert Submission.objects.count() == 2


def test_a_different_result_is_a_correction_kept_with_its_predecessor(people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    changed = log(streamed, people.ana, "2+12")
    assert not changed.created and changed.fact.number == 2
    assert [fact.mark for fact in changed.result.facts.all()] == ["2+9", "2+12"]
    assert counts() == (1, 2, 1)
    assert Score.objects.get().raw_reps == 192


def test_everything_wrong_is_told_at_once_and_nothing_is_kept(people):
    streamed = make_class(people)
    with pytest.raises(Refused) as refused:
        log(streamed, people.ana, "2+30", "tuk rock", splits="soon", effort=11)
    assert [item.column for item in refused.value.items] == ["mark", "options", "splits", "effort"]
    assert all(item.problem and item.suggestion for item in refused.value.items)
    assert counts() == (0, 0, 0)


def test_splits_are_kept(people):
    streamed = make_class(people, tie_break_block=1)
    sent = log(streamed, people.ana, "2+9", splits={"1": "4:10", "2": "9:55"})
    assert sent.fact.splits == "block 1 4:10; block 2 9:55"
    assert sent.score.tie_key == 25000


@pytest.mark.parametrize("who", ["foreigner", "foreign_coach"])
def test_nobody_logs_in_a_foreign_class(people, who):
    streamed = make_class(people)
    outsider = getattr(people, who)
    for member in (outsider, people.ana):
        with pytest.raises(Refused) as refused:
            log(streamed, member, "2+9", by=outsider)
        assert refused.value.kind == "forbidden"


def test_members_log_only_for_themselves_and_coaches_for_all(people):
    streamed = make_class(people)
    with pytest.raises(Refused):
        log(streamed, people.ana, "2+9", by=people.ben)
    sent = log(streamed, people.ana, "2+9", by=people.coach)
    assert sent.fact.entered_by == people.coach


def test_a_draft_takes_no_results_of_members(people):
    streamed = make_class(people, is_open=False)
    with pytest.raises(Refused):
        log(streamed, people.ana, "2+9")
    assert counts() == (0, 0, 0)


def test_a_closed_class_takes_results_only_of_coaches_with_a_reason(people):
    streamed = make_class(people)
    closed = close_class(streamed_class=streamed, by=people.coach, now=NOW)
    with pytest.raises(Refused) as refused:
        log(streamed, people.ana, "2+9")  # a stale page still thinks it is open
    assert refused.value.kind == "closed"
    with pytest.raises(Refused) as refused:
        log(closed, people.ana, "2+9", by=people.coach)
    assert refused.value.items[0].column == "reason"
    submit_result(
        streamed_class=closed, member=people.ana, entered_by=people.coach,
        data=ResultInput("2+9"), key="x", now=NOW, reason="phone was dead",
    )  # fmt: skip
    assert Fact.objects.get().reason == "phone was dead"
    reopened = reopen_class(streamed_class=closed, by=people.coach, now=NOW)
    assert log(reopened, people.ben, "1+1").created


def test_facts_workouts_and_credits_refuse_to_change(people):
    streamed = make_class(people)
    fact = log(streamed, people.ana, "2+9").fact
    fact.mark = "9+9"
    for act in (
        fact.save,
        fact.delete,
        streamed.workout.save,
        streamed.credit_table.delete,
        lambda: Fact.objects.update(mark="9+9"),
        lambda: Fact.objects.all().delete(),
        lambda: Fact.objects.bulk_update([fact], ["mark"]),
    ):
        with pytest.raises(ImmutableError):
            act()
    assert Fact.objects.get().mark == "2+9"


def test_a_coach_corrects_with_a_reason_and_both_facts_stay(people):
    streamed = make_class(people, FOR_TIME)
    sent = log(streamed, people.ana, "12:00")
    with pytest.raises(Refused) as refused:
        correct_result(
            result=sent.result, by=people.coach, data=ResultInput("12:30"), reason=" ", now=NOW
        )
    assert refused.value.items[0].column == "reason"
    with pytest.raises(Refused) as refused:
        correct_result(
            result=sent.result, by=people.ben, data=ResultInput("12:30"), reason="x", now=NOW
        )
    assert refused.value.kind == "forbidden"
    correct_result(
        result=sent.result, by=people.coach, data=ResultInput("12:30"), reason="misread", now=NOW
    )
    assert list(Fact.objects.values_list("mark", "reason")) == [("12:00", ""), ("12:30", "misread")]
    assert Score.objects.get().adjusted_seconds == "750"


def test_a_withdrawn_result_leaves_the_board_but_not_the_record(people):
    streamed = make_class(people)
    sent = log(streamed, people.ana, "2+9")
    withdraw_result(result=sent.result, by=people.ana, reason="", now=NOW)
    assert counts() == (1, 2, 0)
    with pytest.raises(Refused):
        withdraw_result(result=sent.result, by=people.ana, reason="", now=NOW)
    assert log(streamed, people.ana, "2+9").fact.number == 3
    assert counts() == (1, 3, 1)


@pytest.mark.parametrize("odd", ["\0", "\ud800"], ids=["NUL", "half a character"])
def test_text_no_database_can_keep_is_refused_where_it_stands(people, odd):
    streamed = make_class(people)
    for column, kwargs in (("note", {"note": odd}), ("key", {"key": f"k{odd}"})):
        with pytest.raises(Refused) as refused:
            log(streamed, people.ana, "2+9", **kwargs)
        assert refused.value.items[0].column == column
    sent = log(streamed, people.ana, "2+9")
    with pytest.raises(Refused) as refused:
        withdraw_result(result=sent.result, by=people.coach, reason=f"x{odd}", now=NOW)
    assert refused.value.items[0].column == "reason"
    written = save_workout(
        gym=people.gym, text=f"Odd{odd}\ncap 9:00\n\n3 rounds\n10 push-up", author=None
    )
    assert Workout.objects.get(pk=written.pk).title


def test_who_left_meanwhile_logs_nothing(people):
    streamed = make_class(people)
    member = Membership.objects.get(pk=people.ana.pk)  # as the request read it
    Membership.objects.filter(pk=member.pk).update(left_at=NOW)
    with pytest.raises(Refused) as refused:
        log(streamed, member, "2+9")
    assert refused.value.kind == "forbidden" and not Result.objects.exists()
    streamed.refresh_from_db()
    assert streamed.board_version == make_class(people).board_version  # as if nothing was sent
