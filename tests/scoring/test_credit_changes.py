"""Changing credits: shown, accepted, worked into the boards, undone, and never by halves."""

import random

import pytest

from members.models import AuditEntry, CoachRight
from scoring.core.credits import CreditTable
from scoring.models import CreditChange, CreditTableVersion, Score
from scoring.problems import Refused
from scoring.services.credit_changes import (
    accept,
)
from scoring.services.credit_classes import proposed
from scoring.services.credit_moves import class_moves
from scoring.services.credits import current_table
from scoring.services.recompute import differences

from ..conftest import NOW
from .classes import log, make_class
from .credit_scenes import (
    BOARD_SAYS,
    MIXED,
    ROCKS,
    SQUATS,
    WAYS,
    accepted,
    ask,
    boards,
    done,
    ranks_of,
    shown,
)

pytestmark = pytest.mark.django_db


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
