"""Changing credits: shown, accepted, worked into the boards, undone, and never by halves."""

import random
from datetime import timedelta
from fractions import Fraction

import pytest
from django.core.management import call_command

from members.models import AuditEntry, CoachRight
from scoring import tasks
from scoring.core.credits import CreditTable
from scoring.core.ranking import Entry, competition_ranks
from scoring.models import CreditChange, CreditTableVersion, RecomputeRun, Score, StreamedClass
from scoring.problems import Refused
from scoring.services import credit_changes, recompute
from scoring.services.classes import close_class
from scoring.services.credit_changes import (
    EntryInput,
    accept,
    go_on,
    look_anew,
    propose,
    propose_undo,
    seen_of,
)
from scoring.services.credit_classes import proposed
from scoring.services.credit_moves import class_moves
from scoring.services.credits import current_table
from scoring.services.recompute import differences

from ..conftest import NOW
from .classes import log, make_class

ROCKS = """Rocks
amrap 10:00
10 hollow rock
  or tuck rock
"""
BOARD_SAYS = """Rocks, credited
amrap 10:00
10 hollow rock
  or tuck rock, credit 0.8
"""
SQUATS = """Squats
amrap 10:00
10 air squat
"""
MIXED = """Mixed
amrap 10:00
10 goblet squat @ 20 kg
  or air squat
10 hollow rock
  or tuck rock
"""
WAYS = ("tuck rock: 7", "1.1 air squat: 4", "1.1 goblet squat @ 12 kg: 9")
LATER = NOW + timedelta(hours=1)


def ask(people, *entries, scope="all", by=None, reason="tuck rocks are hard", now=NOW):
    given = [EntryInput(*entry) for entry in entries or [("hollow rock", "tuck rock", "0.95")]]
    return propose(
        gym=people.gym, by=by or people.coach, entries=given, reason=reason, scope=scope, now=now
    )


def shown(change):
    go_on(change_id=change.pk, now=NOW)
    change.refresh_from_db()
    assert change.state == "shown"
    return change


def accepted(people, change, now=NOW):
    change = shown(change)
    return accept(change=change, by=people.coach, seen=seen_of(change), now=now)


def done(people, change, now=NOW):
    change = accepted(people, change, now)
    assert go_on(change_id=change.pk, now=now) == "done"
    change.refresh_from_db()
    assert change.state == "done"
    return change


def boards():
    """Everything a board is made of but the stamps of versions."""
    return list(
        Score.objects.order_by("result").values_list(
            "result_id", "fact_id", "raw_reps", "credited", "seconds", "performance", "key",
            "tie_key", "as_prescribed", "adjusted_text", "adjusted_reps", "adjusted_seconds",
        )
    )  # fmt: skip


@pytest.fixture
def rocks(people):
    """100 tuck rocks: 80 by the usual figure, 95 by a credit of 0.95; 90 as prescribed."""
    found = make_class(people, ROCKS)
    log(found, people.ana, "9+0")
    log(found, people.ben, "10+0", "tuck rock")
    log(found, people.cleo, "1+0")
    return found


def test_a_preview_counts_who_moves_and_writes_nothing_on_boards(people, rocks):
    make_class(people, SQUATS)
    before, table = boards(), current_table(gym=people.gym)
    change = shown(ask(people))
    row = change.classes.get()
    assert (row.streamed_class, row.results) == (rocks, 3)
    assert (row.scores_moved, row.ranks_moved) == (1, 2)
    assert boards() == before and current_table(gym=people.gym) == table


def test_accepting_makes_a_version_and_does_exactly_what_the_preview_said(people, rocks):
    change = done(people, ask(people))
    row = change.classes.get()
    assert row.moved == row.scores_moved == 1
    assert Score.objects.get(result__member=people.ben).credited == "95"
    version = current_table(gym=people.gym)
    assert version.version == 2 and version == change.to_version
    assert version.reason == "tuck rocks are hard" and version.created_by == people.coach
    rocks.refresh_from_db()
    assert rocks.credit_table == version and differences(streamed_class=rocks) == []
    entry = AuditEntry.objects.get(what="change-credits")
    assert entry.subject == "tuck rock for hollow rock: 0.95" and entry.by == people.coach
    assert entry.details["changes"][0]["from"] is None and entry.details["version"] == 2


def test_accepting_twice_makes_one_version(people, rocks):
    change = accepted(people, ask(people))
    again = accept(change=change, by=people.coach, seen="anything", now=NOW)
    stale = CreditChange.objects.get(pk=change.pk)
    assert again.to_version == stale.to_version and CreditTableVersion.objects.count() == 2


def test_only_from_now_on_leaves_every_board_and_serves_the_next_class(people, rocks):
    before = list(Score.objects.values())
    draft = make_class(people, ROCKS, is_open=False)
    done(people, ask(people, scope="new"))
    assert list(Score.objects.values()) == before
    late = log(rocks, people.coach, "10+0", "tuck rock")
    assert late.score.credited == "80"
    from scoring.services.classes import open_class

    opened = open_class(streamed_class=draft, by=people.coach, now=NOW)
    assert log(opened, people.ana, "10+0", "tuck rock").score.credited == "95"


def test_a_credit_on_the_board_beats_the_table_so_nothing_is_concerned(people):
    streamed = make_class(people, BOARD_SAYS)
    log(streamed, people.ben, "10+0", "tuck rock")
    change = shown(ask(people))
    assert not change.classes.exists()
    done(people, change)
    assert Score.objects.get().credited == "80"


def test_undoing_sets_every_board_back_and_keeps_all_three_versions(people, rocks):
    closed = make_class(people, ROCKS)
    log(closed, people.ana, "7+3", "tuck rock: 20")
    close_class(streamed_class=closed, by=people.coach, now=NOW)
    before = boards()
    change = done(people, ask(people))
    assert boards() != before
    undo = propose_undo(change=change, by=people.coach, reason="it was right", now=LATER)
    undo = done(people, undo, LATER)
    assert boards() == before
    first, second, third = CreditTableVersion.objects.order_by("version")
    assert first.rules["options"] == third.rules["options"] == []
    assert second.rules["options"] != [] and undo.to_version == third
    assert {s.credit_table for s in Score.objects.all()} == {third}
    assert AuditEntry.objects.filter(what="undo-credits", why="it was right").exists()


def test_undoing_an_undo_is_the_change_again(people, rocks):
    change = done(people, ask(people))
    after = boards()
    undo = done(people, propose_undo(change=change, by=people.coach, reason="no", now=NOW), LATER)
    redo = propose_undo(change=undo, by=people.coach, reason="yes", now=LATER)
    done(people, redo, LATER + timedelta(hours=1))
    assert boards() == after


def test_a_class_pinned_to_an_older_version_is_put_back_to_it(people, rocks):
    """It counted by version 1 since version 2 was only for classes to come."""
    before = boards()
    done(people, ask(people, scope="new"))
    change = done(people, ask(people, ("hollow rock", "tuck rock", "0.9")))
    assert Score.objects.get(result__member=people.ben).credited == "90"
    done(people, propose_undo(change=change, by=people.coach, reason="no", now=LATER), LATER)
    rocks.refresh_from_db()
    assert rocks.credit_table.version == 1 and boards() == before
    assert current_table(gym=people.gym).rules["options"][0]["credit"] == "0.95"


def test_an_undo_reaches_classes_opened_since(people):
    change = done(people, ask(people))
    since = make_class(people, ROCKS)
    log(since, people.ben, "10+0", "tuck rock")
    assert Score.objects.get().credited == "95"
    done(people, propose_undo(change=change, by=people.coach, reason="no", now=LATER), LATER)
    assert Score.objects.get().credited == "80"


def test_undoing_an_older_change_sets_only_its_own_entries_back(people, rocks):
    older = done(
        people,
        ask(people, ("hollow rock", "tuck rock", "0.9"), ("burpee", "squat thrust", "0.7")),
    )
    done(
        people,
        ask(people, ("hollow rock", "tuck rock", "0.95"), ("push-up", "knee push-up", "0.9")),
    )
    undo = done(people, propose_undo(change=older, by=people.coach, reason="no", now=NOW), LATER)
    table = CreditTable.from_dict(undo.to_version.rules)
    assert dict(table.options) == {
        ("hollow rock", "tuck rock"): Fraction("0.95"),  # set again later, so it stands
        ("push-up", "knee push-up"): Fraction("0.9"),
    }


def test_nothing_is_left_to_undo_where_later_changes_set_it_again(people, rocks):
    older = done(people, ask(people, ("hollow rock", "tuck rock", "0.9")))
    done(people, ask(people))
    with pytest.raises(Refused, match="Later changes set all of it again"):
        propose_undo(change=older, by=people.coach, reason="no", now=LATER)


def test_a_preview_that_became_untrue_is_refused_and_shown_anew(people, rocks):
    change = shown(ask(people))
    seen = seen_of(change)
    log(rocks, people.owner, "10+0", "tuck rock")
    with pytest.raises(Refused, match="changed since") as refused:
        accept(change=change, by=people.coach, seen=seen, now=NOW)
    assert refused.value.kind == "conflict" and CreditTableVersion.objects.count() == 1
    change.refresh_from_db()
    assert change.classes.get().scores_moved == 2
    accept(change=change, by=people.coach, seen=seen_of(change), now=NOW)


def test_a_result_that_moves_nobody_does_not_make_a_preview_untrue(people, rocks):
    change = shown(ask(people))
    log(rocks, people.owner, "0+3")
    accept(change=change, by=people.coach, seen=seen_of(change), now=NOW)


def test_a_preview_of_an_older_table_is_refused_and_worked_out_on_the_new_one(people, rocks):
    change = shown(ask(people))
    seen = seen_of(change)
    done(people, ask(people, ("hollow rock", "tuck rock", "0.9")))
    with pytest.raises(Refused, match="changed since"):
        accept(change=change, by=people.coach, seen=seen, now=LATER)
    change.refresh_from_db()
    assert change.from_version.version == 2
    done(people, change, LATER)
    assert Score.objects.get(result__member=people.ben).credited == "95"


def test_a_preview_that_somebody_else_carried_out_says_so(people, rocks):
    change = shown(ask(people))
    done(people, ask(people))
    with pytest.raises(Refused, match="say this already"):
        look_anew(change=change, by=people.coach, now=NOW)


def test_one_change_at_a_time_is_worked_into_the_boards(people, rocks):
    accepted(people, ask(people))
    second = shown(ask(people, ("hollow rock", "tuck rock", "0.5")))
    with pytest.raises(Refused, match="Another change"):
        accept(change=second, by=people.coach, seen=seen_of(second), now=NOW)


def test_an_owner_can_keep_changes_of_credits_back_from_a_coach(people, rocks):
    people.coach.withheld = [CoachRight.CREDITS]
    people.coach.save()
    for who in (people.coach, people.ana, people.foreign_coach):
        with pytest.raises(Refused) as refused:
            ask(people, by=who)
        assert refused.value.kind == "forbidden"
    assert shown(ask(people, by=people.owner))


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        (("hollow rock", "tuck rock", "0"), "more than 0 and at most 2"),
        (("hollow rock", "tuck rock", "2.5"), "more than 0 and at most 2"),
        (("hollow rock", "tuck rock", "0.12345"), "four decimals"),
        (("hollow rock", "tuck rock", "lots"), "is no credit"),
        (("hollow rock", "hollow rock", "0.9"), "as prescribed"),
        (("hollow rock", "tuck rokc", "0.9"), "is not known"),
        (("hollow rock", "tuck rock", None), "Nothing would change"),
        (("", "load_slope", "3"), "from 0 to 1"),
        (("", "sleep", "1"), "no figure"),
    ],
)
def test_what_cannot_be_is_refused_with_its_problem(people, rocks, entry, told):
    with pytest.raises(Refused, match=told):
        ask(people, entry)
    assert not CreditChange.objects.exists()


def test_a_reason_is_needed(people, rocks):
    with pytest.raises(Refused) as refused:
        ask(people, reason="  ")
    assert refused.value.items[0].column == "reason"


def test_the_usual_figure_moves_options_nobody_has_credited(people, rocks):
    done(people, ask(people, ("", "default_option", "0.5")))
    assert Score.objects.get(result__member=people.ben).credited == "50"


def test_the_load_rule_moves_own_loads(people):
    streamed = make_class(people, "Goblets\namrap 10:00\n10 goblet squat @ 20 kg\n")
    log(streamed, people.ben, "10+0", "goblet squat @ 10 kg")
    assert Score.objects.get().credited == "75"
    change = done(people, ask(people, ("", "load_slope", "0.8")))
    assert change.classes.get().scores_moved == 1
    assert Score.objects.get().credited == "60"


def ranks_of(streamed):
    rows = list(Score.objects.filter(streamed_class=streamed))
    ranks = competition_ranks([Entry(row.key, row.tie_key, "") for row in rows])
    return {row.result_id: (rank, row.adjusted_text) for row, rank in zip(rows, ranks, strict=True)}


@pytest.mark.parametrize("seed", range(4))
def test_whatever_is_logged_and_changed_the_preview_is_what_then_happens(people, seed):
    """Two boards and three options drawn by lot; every move is foretold, and no other."""
    dice = random.Random(seed)
    classes = [make_class(people, MIXED, above_one=seed % 2 == 0) for _ in range(2)]
    for streamed in classes:
        for member in (*people.members, people.owner, people.coach):
            options = [o for o in WAYS if dice.random() < 0.5]
            log(streamed, member, f"{dice.randint(3, 9)}+{dice.randint(0, 9)}", "; ".join(options))
    wanted = [
        ("hollow rock", "tuck rock", f"0.{dice.randint(1, 9)}"),
        ("goblet squat", "air squat", f"1.{dice.randint(1, 9)}"),
        ("", "load_slope", f"0.{dice.randint(6, 9)}"),
    ]
    change = shown(ask(people, *wanted[: dice.randint(1, 3)]))
    before = {streamed.pk: ranks_of(streamed) for streamed in classes}
    told = {}
    for row in change.classes.all():
        found = class_moves(
            streamed_class=row.streamed_class,
            old=CreditTable.from_dict(row.from_table.rules),
            new=proposed(change),
        )
        assert (found.scores, found.ranks) == (row.scores_moved, row.ranks_moved)
        told[row.streamed_class_id] = {
            m.result_id: ((m.old_rank, m.old_adjusted), (m.new_rank, m.new_adjusted))
            for m in found.moved
        }
    done(people, change)
    for streamed in classes:
        after = ranks_of(streamed)
        assert told.get(streamed.pk, {}).items() >= {
            (pk, (before[streamed.pk][pk], after[pk]))
            for pk in after
            if before[streamed.pk][pk] != after[pk]
        }
        assert all(pair == (before[streamed.pk][pk], after[pk])
                   for pk, pair in told.get(streamed.pk, {}).items())  # fmt: skip
    for row in change.classes.all():
        assert row.moved == row.scores_moved


# --- interrupted ---------------------------------------------------------------


def test_work_that_fails_half_way_goes_on_and_nothing_is_done_twice(people, rocks, monkeypatch):
    other = make_class(people, ROCKS)
    log(other, people.ana, "4+0", "tuck rock")
    monkeypatch.setattr(recompute, "CHUNK", 1)
    change = accepted(people, ask(people))
    real, calls = recompute.score, []

    def dies(*args):
        calls.append(args)
        if len(calls) in (2, 3):
            raise RuntimeError("power cut")
        return real(*args)

    monkeypatch.setattr(recompute, "score", dies)
    assert go_on(change_id=change.pk, now=NOW) == "stuck"
    change.refresh_from_db()
    assert change.state == "working"
    monkeypatch.setattr(recompute, "score", real)
    later = NOW + timedelta(minutes=5)
    assert credit_changes.unfinished(now=later) == [change.pk]
    assert go_on(change_id=change.pk, now=later) == "done"
    runs = RecomputeRun.objects.order_by("streamed_class_id")
    assert [(r.streamed_class_id, r.done) for r in runs] == [(rocks.pk, 3), (other.pk, 1)]
    assert [row.moved for row in change.classes.order_by("streamed_class_id")] == [1, 1]
    for streamed in StreamedClass.objects.all():
        assert differences(streamed_class=streamed) == []


def test_a_worker_that_died_just_after_a_class_does_not_recompute_it(people, rocks, monkeypatch):
    change = accepted(people, ask(people))
    recompute.recompute_class(streamed_class=rocks, table=change.to_version, now=NOW)
    go_on(change_id=change.pk, now=LATER)
    assert RecomputeRun.objects.count() == 1 and change.classes.get().moved == 1


def test_steps_leave_off_and_are_taken_up_again(people, rocks, monkeypatch):
    monkeypatch.setattr(recompute, "CHUNK", 1)
    change = accepted(people, ask(people))
    answers = []
    while not answers or answers[-1] == "more":
        answers.append(go_on(change_id=change.pk, now=NOW, steps=1))
        log(rocks, people.owner, f"{len(answers)}+0", "tuck rock")  # logged all the while
    assert answers[:3] == ["more"] * 3 and answers[-1] == "done"
    assert differences(streamed_class=StreamedClass.objects.get(pk=rocks.pk)) == []
    assert {s.credit_table_id for s in Score.objects.all()} == {change.to_version_id}


def test_the_beat_takes_up_what_nobody_is_at_and_drops_old_previews(people, rocks):
    change = accepted(people, ask(people, now=NOW - timedelta(days=400)))
    CreditChange.objects.update(went_on_at=NOW - timedelta(days=1))
    forgotten = ask(people, ("hollow rock", "tuck rock", "0.5"), now=NOW - timedelta(days=400))
    assert tasks.credit_changes() == 1
    change.refresh_from_db()
    assert change.state == "done"
    assert not CreditChange.objects.filter(pk=forgotten.pk).exists()
    assert tasks.credit_changes() == 0


def test_the_command_finishes_what_was_left(people, rocks, capsys):
    change = accepted(people, ask(people))
    call_command("credit_changes")
    assert "done" in capsys.readouterr().out
    change.refresh_from_db()
    assert change.state == "done"


def test_a_class_opened_by_the_old_credits_while_it_is_accepted_is_taken_in(people, rocks):
    change = accepted(people, ask(people))
    late = make_class(people, ROCKS)
    StreamedClass.objects.filter(pk=late.pk).update(credit_table=change.from_version)
    go_on(change_id=change.pk, now=NOW)
    late.refresh_from_db()
    assert late.credit_table == change.to_version


def test_rescoring_from_a_class_read_before_does_not_take_the_old_credits_back(people, rocks):
    old = StreamedClass.objects.select_related("credit_table", "workout").get(pk=rocks.pk)
    change = done(people, ask(people))
    recompute.recompute_class(streamed_class=old, now=LATER)
    assert {s.credit_table_id for s in Score.objects.all()} == {change.to_version_id}
