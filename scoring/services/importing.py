"""Bringing a whole chat or file of results in: begun, mended, confirmed, taken back.

The work itself is done in parts by ``import_reading``, ``import_saving`` and
``import_undoing``; here are the steps that a coach takes between them, but for the mending
of lines (``import_mending``).
"""

from __future__ import annotations

import hashlib
from datetime import datetime

from django.db import transaction

from members import audit
from members.models import Membership
from scoring.core.names import plain
from scoring.core.sheet import SheetError, decode, split_lines
from scoring.core.told_sheet import COLUMNS, read_told_sheet
from scoring.models import ImportLine, ImportRun, State, StreamedClass
from scoring.problems import Item, Refused, refuse, storable

from .import_holding import MENDABLE, demand_coach, held

MAX_BYTES = 1024 * 1024
MAX_LINES = 5000
MAX_TEXT = 500
"""Letters of a line that are kept: nobody writes a longer result."""

MAX_REASON = 500
States = ImportLine.State
FEWER = "Bring the results of one class in at a time."


def start_import(
    *, streamed_class: StreamedClass, by: Membership, kind: str, data: bytes, now: datetime
) -> ImportRun:
    """Take a chat's text or a file in and cut it into lines, which are still to be read.

    The same text given again while it is being looked through is the same import.

    Raises
    ------
    Refused
        For a class that members can't see yet, and for what is empty, no text, or too much:
        over ``MAX_BYTES`` or ``MAX_LINES``.
    """
    demand_coach(by, streamed_class)
    column = "file" if kind == ImportRun.Kind.SHEET else "text"
    if streamed_class.state == State.DRAFT:
        raise refuse("", "This class is a draft.", "Open it first, then bring results in.")
    if len(data) > MAX_BYTES:
        raise refuse(column, "That is more than 1 MB.", FEWER)
    digest = hashlib.sha256(data).hexdigest()
    try:
        text, remarks = decode(data)
        lines, more = _sheet_lines(text) if column == "file" else (_chat_lines(text), ())
    except SheetError as error:
        raise Refused(
            Item(column, error.problem, error.suggestion, error.line if column == "file" else None)
        ) from None
    if not lines:
        raise refuse(column, "There is nothing in it.", "Give at least one line with a result.")
    with transaction.atomic():
        # The class's row is held, so that two taps on the button are one import.
        StreamedClass.objects.select_for_update().get(pk=streamed_class.pk)
        going = (ImportRun.State.READING, ImportRun.State.CHECKING)
        same = ImportRun.objects.filter(streamed_class=streamed_class, digest=digest, kind=kind)
        if found := same.filter(state__in=going).first():
            return found
        if same.exists():
            remarks = (*remarks, "This very text was brought in before; what is in stays as it is.")
        run = ImportRun.objects.create(
            gym_id=streamed_class.gym_id,
            streamed_class=streamed_class,
            by=by,
            kind=kind,
            digest=digest,
            remarks=[*remarks, *more],
            started_at=now,
            touched_at=now,
        )
        for line in lines:
            line.run = run
        ImportLine.objects.bulk_create(lines, batch_size=500)
    return run


def _chat_lines(text: str) -> list[ImportLine]:
    lines = split_lines(text)
    if len(lines) > MAX_LINES:
        raise SheetError(f"There are more than {MAX_LINES} lines.", FEWER)
    cleaned = ((number, plain(line)) for number, line in enumerate(lines, start=1))
    return [ImportLine(number=number, text=line[:MAX_TEXT]) for number, line in cleaned if line]


def _sheet_lines(text: str) -> tuple[list[ImportLine], tuple[str, ...]]:
    sheet, lines = read_told_sheet(text, most=MAX_LINES)
    made = [
        ImportLine(
            number=row.line,
            text=plain(lines[row.line - 1])[:MAX_TEXT],
            cells={name: cell for name in COLUMNS if (cell := getattr(row, name))},
        )
        for row in sheet.rows
    ]
    made += [
        ImportLine(
            number=fault.line,
            text=plain(lines[fault.line - 1])[:MAX_TEXT],
            state=States.WRONG,
            problems=[
                {
                    "column": fault.column or "",
                    "problem": fault.problem,
                    "suggestion": fault.suggestion,
                }
            ],
        )
        for fault in sheet.problems
    ]
    return sorted(made, key=lambda line: line.number), sheet.remarks


def confirm_import(*, run: ImportRun, by: Membership, reason: str, now: datetime) -> ImportRun:
    """Let the lines that are ready come in. A closed class needs a ``reason``.

    Confirming again while they come in changes nothing; afterwards it brings in what was
    mended since.
    """
    why = " ".join(reason.split())
    if len(why) > MAX_REASON or not storable(why):
        raise refuse("reason", "That reason can't be kept.", f"At most {MAX_REASON} characters.")
    with transaction.atomic():
        row = held(run, by, *MENDABLE, ImportRun.State.SAVING)
        if row.state == ImportRun.State.SAVING:
            return row
        ready = row.lines.filter(state=States.GOOD).count()
        if not ready:
            raise refuse("", "No line is ready to come in.", "Mend or confirm some first.")
        if row.streamed_class.state == State.CLOSED and not why:
            raise refuse("reason", "The class is closed.", "Say why results come in now.")
        row.state, row.by, row.reason, row.fault = ImportRun.State.SAVING, by, why, ""
        row.confirmed_at = row.touched_at = now
        row.save()
        _record(row, by, "import-results", why, {"kind": row.kind, "lines": ready}, now)
    return row


def undo_import(*, run: ImportRun, by: Membership, reason: str, now: datetime) -> ImportRun:
    """Begin to take back all that an import brought in; asked again it goes on."""
    why = " ".join(reason.split())[:MAX_REASON]
    with transaction.atomic():
        row = held(run, by, ImportRun.State.DONE, ImportRun.State.UNDOING)
        if row.state == ImportRun.State.UNDOING:
            return row
        saved = row.lines.filter(state=States.SAVED).count()
        row.state, row.by, row.touched_at, row.fault = ImportRun.State.UNDOING, by, now, ""
        row.save()
        _record(row, by, "undo-import", why, {"lines": saved}, now)
    return row


def _record(
    run: ImportRun, by: Membership, what: str, why: str, details: dict[str, object], now: datetime
) -> None:
    audit.record(
        gym=run.gym,
        by=by,
        what=what,
        subject=run.streamed_class.workout.title,
        subject_key=f"class {run.streamed_class_id}",
        why=why,
        details=details | {"import": run.pk},
        now=now,
    )


def drop_import(*, run: ImportRun, by: Membership) -> None:
    """Throw an import away of which nothing is in, with all its lines."""
    with transaction.atomic():
        held(run, by, ImportRun.State.CHECKING, ImportRun.State.READING).delete()
