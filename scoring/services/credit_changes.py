"""Changing a gym's credits: shown first, accepted, worked into the boards, undone.

A change is made in small steps that any worker can take at any time: looking at a class,
recomputing a chunk of one. So it can be left, and goes on wherever a worker died.
"""

from __future__ import annotations

import hashlib
import json
import logging
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Literal

from django.db import transaction
from django.db.models import F, Q

from members import audit
from members.models import Gym, Membership
from scoring import access
from scoring.core.credit_changes import entry_of, set_back, value_of
from scoring.core.prescription import decimal_text
from scoring.core.scoring import RULES_VERSION
from scoring.mapping import course_of
from scoring.models import ChangedClass, CreditChange, RecomputeRun, StreamedClass
from scoring.problems import refuse

from .credit_classes import line_up, proposed, table_of
from .credit_entries import EntryInput, read_entries, read_reason, words_of
from .credit_moves import class_moves
from .credits import current_table, new_table
from .recompute import recompute_class

__all__ = [
    "EntryInput",
    "accept",
    "go_on",
    "look_anew",
    "propose",
    "propose_undo",
    "seen_of",
    "unfinished",
]

logger = logging.getLogger(__name__)

Got = Literal["done", "more", "stuck"]
"""How far steps got: to the end, not yet, or as far as they can while something fails."""

PREVIEW_DAYS = 14
QUIET = timedelta(minutes=2)
"""Work that has not gone on for so long has nobody at it."""


def _demand(by: Membership, gym: Gym) -> None:
    if by.gym_id != gym.pk or not access.may_change_credits(by):
        raise refuse("", "Only coaches whom the owner lets change credits can do that.",
                     "Ask the owner of the gym.", "forbidden")  # fmt: skip


def _names_on_boards(gym: Gym) -> set[str]:
    """Every name on the gym's boards: such a one is never a spelling mistake."""
    rows = StreamedClass.objects.filter(gym=gym).select_related("workout")
    names: set[str] = set()
    for streamed in {row.workout_id: row for row in rows}.values():
        for line in course_of(streamed).lines:
            names.add(line.line.movement)
            names |= {option.movement for option in line.line.options}
    return names


@transaction.atomic
def propose(
    *,
    gym: Gym,
    by: Membership,
    entries: Iterable[EntryInput],
    reason: str,
    scope: str,
    now: datetime,
) -> CreditChange:
    """Note what credits should change to and which classes that would concern.

    No board and no table changes by it. Raises ``Refused`` for what can't be read, for
    entries that change nothing, and for who may not.
    """
    _demand(by, gym)
    if scope not in CreditChange.Scope.values:
        raise refuse("scope", "Say which classes it is for.", "all or new.")
    why = read_reason(reason)
    table = current_table(gym=gym)
    read = read_entries(entries, table_of(table), _names_on_boards(gym))
    change = CreditChange.objects.create(
        gym=gym, by=by, entries=[entry.to_dict() for entry in read], reason=why, scope=scope,
        from_version=table, asked_at=now, went_on_at=now,
    )  # fmt: skip
    return _lined_up(change)


@transaction.atomic
def propose_undo(
    *, change: CreditChange, by: Membership, reason: str, now: datetime
) -> CreditChange:
    """Note the change that sets a change's own entries back; it is shown and accepted as any.

    What a later change set again stays, see ``core.credit_changes.set_back``. Raises
    ``Refused`` while the change is not done, and where nothing of it is left.
    """
    _demand(by, change.gym)
    why = read_reason(reason)
    if change.state != CreditChange.State.DONE or change.to_version is None:
        raise refuse(
            "", "This change is not done yet.", "Wait until its boards are recomputed.", "conflict"
        )
    table = current_table(gym=change.gym)
    entries, conflicts = set_back(
        table_of(change.from_version), table_of(change.to_version), table_of(table)
    )
    if not entries:
        raise refuse(
            "",
            "Later changes set all of it again, so they stand."
            if conflicts
            else "Nothing of this change is left to undo.",
            "Change the credits by hand if they should be otherwise.",
            "conflict",
        )
    undo = CreditChange.objects.create(
        gym=change.gym, by=by, entries=[entry.to_dict() for entry in entries], reason=why,
        scope=CreditChange.Scope.ALL, from_version=table, undoes=change, asked_at=now,
        went_on_at=now,
    )  # fmt: skip
    return _lined_up(undo)


def _lined_up(change: CreditChange) -> CreditChange:
    line_up(change)
    if not change.classes.exists():
        change.state = CreditChange.State.SHOWN
        change.save(update_fields=["state"])
    return change


def look_anew(*, change: CreditChange, by: Membership, now: datetime) -> CreditChange:
    """Work out again who would move, from the credits and results as they are now."""
    _demand(by, change.gym)
    with transaction.atomic():
        row = CreditChange.objects.select_for_update(of=("self",)).get(pk=change.pk)
        if row.to_version_id is not None:
            return row
        table = current_table(gym=row.gym)
        row.from_version, row.state, row.went_on_at = table, CreditChange.State.LOOKING, now
        undone = row.undoes
        if undone is not None and undone.to_version is not None:
            entries, _ = set_back(
                table_of(undone.from_version), table_of(undone.to_version), table_of(table)
            )
        else:
            asked = [entry_of(each) for each in row.entries]
            entries = tuple(e for e in asked if value_of(table_of(table), e.key) != e.credit)
        if not entries:
            raise refuse(
                "", "The credits say this already, so nothing would change.", kind="conflict"
            )
        row.entries = [entry.to_dict() for entry in entries]
        row.save()
        line_up(row)
        row.classes.filter(~Q(board_version=F("streamed_class__board_version"))).update(
            board_version=None, results=None, scores_moved=None, ranks_moved=None
        )
        if not row.classes.filter(board_version=None).exists():
            row.state = CreditChange.State.SHOWN
            row.save(update_fields=["state"])
        return row


def seen_of(change: CreditChange) -> str:
    """What a preview says, as a short text: another one where it would say otherwise."""
    rows = change.classes.order_by("streamed_class_id").values_list(
        "streamed_class_id", "from_table_id", "to_table_id", "scores_moved", "ranks_moved"
    )
    told = json.dumps([change.from_version_id, change.entries, [list(row) for row in rows]])
    return hashlib.sha256(told.encode()).hexdigest()[:16]


def accept(*, change: CreditChange, by: Membership, seen: str, now: datetime) -> CreditChange:
    """Make the new version of the table; its classes are recomputed by ``go_on``.

    ``seen`` is what ``seen_of`` said of the preview that was read. If results or credits
    changed so that it would say otherwise now, it is worked out anew and this refuses
    (conflict). Accepting twice is accepting once.
    """
    _demand(by, change.gym)
    if change.to_version_id is not None:
        return change
    if change.state == CreditChange.State.LOOKING:
        raise refuse("", "Who would move is still being worked out.", "Wait for it.", "conflict")
    fresh = look_anew(change=change, by=by, now=now)
    if fresh.to_version_id is not None:
        return fresh
    # A few boards moved on: seconds of work at most, else it is left to the background.
    got = go_on(change_id=fresh.pk, now=now, steps=10)
    fresh.refresh_from_db()
    stale = refuse(
        "",
        "Results or credits changed since this was worked out.",
        "Read what it comes to now, then accept.",
        "conflict",
    )
    if got != "done" or seen != seen_of(fresh):
        raise stale
    with transaction.atomic():
        Gym.objects.select_for_update().get(pk=change.gym_id)
        row = CreditChange.objects.select_for_update(of=("self",)).get(pk=change.pk)
        if row.to_version_id is not None:
            return row
        if current_table(gym=row.gym).pk != row.from_version_id:
            raise stale
        if CreditChange.objects.filter(gym=row.gym, state=CreditChange.State.WORKING).exists():
            raise refuse(
                "",
                "Another change is being worked into the boards.",
                "Accept this one when it is done.",
                "conflict",
            )
        new = proposed(row)
        row.to_version = new_table(gym=row.gym, table=new, by=by, reason=row.reason)
        row.by, row.accepted_at, row.went_on_at = by, now, now
        row.state = CreditChange.State.WORKING
        line_up(row)  # a class opened just now counts by the old credits
        row.save()
        _noted(row, by, now)
        return row


def _noted(row: CreditChange, by: Membership, now: datetime) -> None:
    old = table_of(row.from_version)
    entries = [entry_of(each) for each in row.entries]
    version = row.to_version
    audit.record(
        gym=row.gym,
        by=by,
        what="undo-credits" if row.undoes_id else "change-credits",
        subject="; ".join(words_of(entry) for entry in entries),
        subject_key=f"credit change {row.pk}",
        why=row.reason,
        details={
            "version": version.version if version else None,
            "scope": row.scope,
            "classes": row.classes.count(),
            "changes": [
                {
                    **entry.to_dict(),
                    "from": None
                    if (value := value_of(old, entry.key)) is None
                    else decimal_text(value),
                }
                for entry in entries
            ],
        },
        now=now,
    )


def go_on(*, change_id: int, now: datetime, steps: int | None = None) -> Got:
    """Go on with a change for so many steps: classes looked at, chunks recomputed.

    A class that fails is left for later, the others go on. Can be called again at any
    time and by several at once.
    """
    failing: set[int] = set()
    taken = 0
    while steps is None or taken < steps:
        change = (
            CreditChange.objects.select_related("gym", "from_version", "to_version", "undoes")
            .filter(pk=change_id)
            .first()
        )
        if change is None or change.state in (CreditChange.State.SHOWN, CreditChange.State.DONE):
            return "done"
        is_work = change.state == CreditChange.State.WORKING
        left = change.classes.filter(**{"done_at" if is_work else "board_version": None})
        row = (
            left.exclude(pk__in=failing)
            .select_related("streamed_class__workout", "from_table", "to_table")
            .first()
        )
        if row is None:
            if failing:
                return "stuck"
            _finish(change, now)
            continue
        taken += 1
        try:
            _work(change, row, now) if is_work else _look(change, row)
        except Exception:
            logger.exception("change of credits %s: class %s failed", change_id, row.pk)
            failing.add(row.pk)
            continue
        CreditChange.objects.filter(pk=change_id).update(went_on_at=now)
    change = CreditChange.objects.get(pk=change_id)
    return "done" if change.state in ("shown", "done") else "more"


def _finish(change: CreditChange, now: datetime) -> None:
    """Nothing is left to do, unless a class came meanwhile."""
    with transaction.atomic():
        row = CreditChange.objects.select_for_update(of=("self",)).get(pk=change.pk)
        if row.state == CreditChange.State.LOOKING:
            if not row.classes.filter(board_version=None).exists():
                row.state = CreditChange.State.SHOWN
                row.save(update_fields=["state"])
        elif row.state == CreditChange.State.WORKING:
            if line_up(row):
                return
            row.state, row.finished_at = CreditChange.State.DONE, now
            row.save(update_fields=["state", "finished_at"])


def _look(change: CreditChange, row: ChangedClass) -> None:
    """Count who would move in one class. Its version is read first: what comes later is seen."""
    streamed = row.streamed_class
    target = table_of(row.to_table) if row.to_table else proposed(change)
    found = class_moves(streamed_class=streamed, old=table_of(row.from_table), new=target)
    ChangedClass.objects.filter(pk=row.pk).update(
        board_version=streamed.board_version,
        results=found.results,
        scores_moved=found.scores,
        ranks_moved=found.ranks,
    )


def _work(change: CreditChange, row: ChangedClass, now: datetime) -> None:
    """Recompute the next chunk of a class; note it as done when its run is."""
    table = row.to_table or change.to_version
    assert table is not None and change.accepted_at is not None  # the state says so
    streamed = row.streamed_class
    # A worker may have died between the end of the run and this change's noting it.
    run = RecomputeRun.objects.filter(
        streamed_class=streamed,
        credit_table=table,
        rules_version=RULES_VERSION,
        finished_at__isnull=False,
        started_at__gte=change.accepted_at,
    ).first()
    if run is None or streamed.credit_table_id != table.pk:
        run = recompute_class(streamed_class=streamed, table=table, now=now, chunks=1)
    if run.finished_at is not None:
        ChangedClass.objects.filter(pk=row.pk, done_at=None).update(
            done_at=now, moved=run.moved, to_table=table
        )


def unfinished(*, now: datetime) -> list[int]:
    """Changes that nobody is at: accepted or asked for, and not gone on with for a while."""
    CreditChange.objects.filter(
        state__in=("looking", "shown"), asked_at__lt=now - timedelta(days=PREVIEW_DAYS)
    ).delete()
    # What is yet to come was noted before the clock was set back.
    long_ago = Q(went_on_at__lte=now - QUIET) | Q(went_on_at__gt=now + QUIET)
    return list(
        CreditChange.objects.filter(long_ago, state__in=("looking", "working"))
        .order_by("pk")
        .values_list("pk", flat=True)
    )
