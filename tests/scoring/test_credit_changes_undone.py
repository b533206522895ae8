"""Changes of credits set back, and previews that became untrue meanwhile."""

from datetime import timedelta
from fractions import Fraction

import pytest

from members.models import AuditEntry
from scoring.core.credits import CreditTable
from scoring.models import CreditTableVersion, Score
from scoring.problems import Refused
from scoring.services.classes import close_class
from scoring.services.credit_changes import (
    accept,
    look_anew,
    propose_undo,
    seen_of,
)
from scoring.services.credits import current_table

from ..conftest import NOW
from .classes import log, make_class
from .credit_scenes import LATER, ROCKS, accepted, ask, boards, done, shown

pytestmark = pytest.mark.django_db


@pytest.fixture
def rocks(people):
    """100 tuck rocks: 80 by the usual figure, 95 by a credit of 0.95; 90 as prescribed."""
    found = make_class(people, ROCKS)
    log(found, people.ana, "9+0")
    log(found, people.ben, "10+0", "tuck rock")
    log(found, people.cleo, "1+0")
    return found


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
