"""An import taken back: every result as it stood before, and nothing is deleted."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from scoring.core.scoring import score
from scoring.mapping import core_result, course_of, rules_of
from scoring.models import Fact, ImportLine, ImportRun, Result, StreamedClass

from .correcting import KEPT
from .import_holding import held_lines, write_lines
from .import_saving import Step, held_run
from .import_settling import told_short
from .writing import next_board_version
from .writing_many import NewFact, add_facts

CHUNK = 100
"""Members in one transaction."""

REASON = "what was brought in was taken back"
UNDONE_FIELDS = ("state", "undo_fact", "remarks")
States = ImportLine.State


def undo_chunk(*, pk: int, now: datetime) -> Step:
    """Take the next lines of an import back.

    A result that the import made is withdrawn; one that it changed gets a correction that
    says what stood before. One that somebody changed since is left alone, and its lines say
    so. Marked in the same transaction, like saving.
    """
    with transaction.atomic():
        run = held_run(pk, ImportRun.State.UNDOING)
        if run is None:
            return Step(False)
        members = list(
            run.lines.filter(state=States.SAVED)
            .order_by("member")
            .values_list("member", flat=True)
            .distinct()[:CHUNK]
        )
        changed = _undo(run, members, now) if members else ()
        run.touched_at = now
        if len(members) < CHUNK:
            run.state, run.undone_at = ImportRun.State.UNDONE, now
        run.save(update_fields=["touched_at", "state", "undone_at"])
        return Step(run.state == ImportRun.State.UNDOING, changed)


def _undo(run: ImportRun, members: Sequence[int], now: datetime) -> tuple[int, ...]:
    streamed = run.streamed_class
    next_board_version(streamed, only_open=False)
    of_member: dict[int, list[ImportLine]] = {member: [] for member in members}
    lines = run.lines.filter(state=States.SAVED, member__in=members)
    for line in held_lines(lines.select_related("fact", "before").order_by("fact")):
        of_member[line.member_id or 0].append(line)
    results = {
        row.member_id: row
        for row in Result.objects.filter(
            streamed_class=streamed, member__in=members
        ).select_related("current")
    }
    wanted: list[tuple[list[ImportLine], NewFact]] = []
    for member, own in of_member.items():
        result = results.get(member)
        now_there = result.current if result else None
        if result is None or now_there is None or not _says(now_there, own[-1].fact):
            _leave(own, now_there)
            continue
        back = [own[-1]]
        for line in reversed(own[:-1]):
            if line.fact_id == back[-1].before_id:
                back.append(line)
        _leave([line for line in own if line not in back], now_there)
        wanted.append((back, _as_before(streamed, result, now_there, back[-1].before)))
    by = run.by
    if by is None:  # erased since: what they brought in is taken back in the class's name
        by = streamed.coach
    facts = add_facts(
        streamed_class=streamed, new=[new for _, new in wanted], entered_by=by, reason=REASON,
        now=now,
    )  # fmt: skip
    for (back, _), fact in zip(wanted, facts, strict=True):
        for line in back:
            line.state, line.undo_fact, line.remarks = States.UNDONE, fact, []
    write_lines([x for own in of_member.values() for x in own], UNDONE_FIELDS)
    return tuple(
        fact.pk
        for (back, _), fact in zip(wanted, facts, strict=True)
        if not fact.is_withdrawn or not all(line.is_new for line in back)
    )


def _says(fact: Fact, other: Fact | None) -> bool:
    """Whether two facts say the same, whoever said it and when."""
    told = (*KEPT, "note", "effort", "is_withdrawn")
    return other is not None and all(getattr(fact, n) == getattr(other, n) for n in told)


def _leave(lines: Sequence[ImportLine], fact: Fact | None) -> None:
    there = "nothing" if fact is None or fact.is_withdrawn else told_short(fact.mark, fact.options)
    for line in lines:
        line.state = States.LEFT
        line.remarks = [f"It was changed since, so it was left alone: it is {there}."]


def _as_before(
    streamed: StreamedClass, result: Result, now_there: Fact, before: Fact | None
) -> NewFact:
    """What stood before the import: the same texts, or withdrawn if nothing counted."""
    if before is None or before.is_withdrawn:
        kept, scored = now_there, None
    else:
        course = course_of(streamed)
        kept, scored = before, score(course, core_result(course, before), rules_of(streamed))
    texts = {name: getattr(kept, name) for name in KEPT}
    return NewFact(result.member_id, result, texts, kept.note, kept.effort, scored)
