"""Mending an import's lines, before anything of them is logged."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from members.models import Membership
from members.problems import Refused as MembersRefused
from members.services import add_member
from scoring.core.names import plain
from scoring.core.told_sheet import COLUMNS
from scoring.models import ImportLine, ImportRun
from scoring.problems import Item, Refused, refuse, storable

from .import_holding import MENDABLE, held, held_lines, write_lines
from .import_reading import READ_FIELDS, Reader, read_lines
from .import_settling import guessed, must_choose, settle
from .importing import MAX_TEXT

States = ImportLine.State
OWN_FIELDS = ("mended", "answers", "chosen", "is_skipped", "is_accepted")
"""What a coach says of a line; the rest is derived."""


def mend_line(
    *,
    line: ImportLine,
    by: Membership,
    now: datetime,
    changes: dict[str, str] | None = None,
    answers: dict[str, str] | None = None,
    member: Membership | None = None,
    new_member: str | None = None,
    accept: bool | None = None,
    skip: bool | None = None,
) -> ImportLine:
    """Change how one line is to be understood, and read it again. Nothing is logged yet.

    Parameters
    ----------
    changes
        What stands there instead: ``text``, or columns of a file by name.
    answers
        What parts of it mean, by the part (see ``told_line``).
    member, new_member
        Whose it is; or the name of somebody to be entered as a new member of the gym.
    accept, skip
        It is right as it is understood; it is to be left out.

    Raises
    ------
    Refused
        ``conflict`` when the import is at work, or the line is in already.
    """
    with transaction.atomic():
        run = held(line.run, by, *MENDABLE)
        row = run.lines.select_for_update().get(pk=line.pk)
        row.run = run
        if row.is_final:
            raise refuse(
                "", "This line is in already.", "Correct it on the class's page.", "conflict"
            )
        touched = {row.member_id}
        if changes:
            _mend(row, changes)
            row.answers = {}
        if answers:
            row.answers = {**row.answers, **{k[:300]: v[:300] for k, v in answers.items()}}
        if new_member is not None:
            member = _new_member(by, new_member, now)
        if member is not None:
            if member.gym_id != run.gym_id or member.left_at is not None:
                raise refuse("member", "They are not in this gym.", "Choose a name of the list.")
            row.chosen = member
        if accept and member is None and must_choose(row):
            raise refuse("accept", "This line could mean several things.", "Choose one of them.")
        if accept and member is None and guessed(row):
            member = row.chosen = row.member  # the guess is right
        if skip is not None:
            row.is_skipped = skip
        if changes or answers or member is not None:
            row.is_accepted = False
        read_lines(run, [row], Reader.of(run.streamed_class))
        row.save(update_fields=[*READ_FIELDS, *OWN_FIELDS])
        touched |= {row.member_id}
        settle(run, [pk for pk in touched if pk])
        if accept is not None:
            _accept(row, accept=accept)
        if new_member is not None:
            _read_nameless_again(run)
    row.refresh_from_db()
    return row


def _mend(row: ImportLine, changes: dict[str, str]) -> None:
    allowed = COLUMNS if row.run.kind == ImportRun.Kind.SHEET else ("text",)
    items = []
    for name, value in changes.items():
        if name not in allowed:
            items.append(
                Item(name, "This import has no such column.", f"It has {', '.join(allowed)}.")
            )
        elif len(value) > MAX_TEXT or not storable(value):
            items.append(Item(name, "That can't be kept.", f"Write at most {MAX_TEXT} letters."))
    if items:
        raise Refused(*items)
    row.mended = {**row.mended, **{name: plain(value) for name, value in changes.items()}}


def _new_member(by: Membership, name: str, now: datetime) -> Membership:
    try:
        return add_member(by=by, display_name=name, now=now)
    except MembersRefused as refused:
        items = [Item("name", i.problem, i.suggestion) for i in refused.items]
        raise Refused(
            *items, kind="forbidden" if refused.kind == "forbidden" else "invalid"
        ) from None


def _read_nameless_again(run: ImportRun) -> None:
    """Other lines may be theirs who were just entered."""
    nameless = run.lines.filter(state=States.WRONG, member=None).exclude(
        cells={}, mended={}, text=""
    )
    if nameless.exclude(problems=[]).update(state=States.UNREAD):
        run.state = ImportRun.State.READING
        run.save(update_fields=["state"])


def _accept(row: ImportLine, *, accept: bool) -> None:
    row.refresh_from_db()
    if row.state in (States.DOUBTFUL, States.GOOD):
        row.is_accepted = accept
        row.state = States.GOOD if accept or not _asks(row) else States.DOUBTFUL
        row.save(update_fields=["state", "is_accepted"])


def _asks(line: ImportLine) -> bool:
    return bool(line.doubts or line.remarks)


def accept_all(*, run: ImportRun, by: Membership) -> int:
    """Say that the lines to be confirmed are right as they are understood; how many are.

    Left are those that could mean several things, and what only now turns out to be asked.
    """
    with transaction.atomic():
        row = held(run, by, *MENDABLE)
        doubtful = held_lines(row.lines.filter(state=States.DOUBTFUL))
        lines = [line for line in doubtful if not must_choose(line)]
        for line in lines:
            if guessed(line):
                line.chosen_id = line.member_id
                line.doubts = [d for d in line.doubts if d["column"] != "member"]
            line.is_accepted = True
        write_lines(lines, ["chosen", "doubts", "is_accepted"])
        settle(row)
        pks = [line.pk for line in lines]
        return row.lines.filter(pk__in=pks, state=States.GOOD).count()
