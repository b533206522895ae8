"""Holding an import while one of its steps is taken, and who may take one."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import QuerySet

from members.models import Membership
from scoring import access
from scoring.models import ImportLine, ImportRun, StreamedClass
from scoring.problems import refuse

MENDABLE = (ImportRun.State.CHECKING, ImportRun.State.DONE)


def demand_coach(by: Membership, streamed_class: StreamedClass) -> None:
    """Raises ``Refused`` (forbidden) for who may not manage the class."""
    if not access.may_manage(by, streamed_class):
        raise refuse("", "Only a coach of the gym can bring results in.", kind="forbidden")


def held(run: ImportRun, by: Membership, *states: str) -> ImportRun:
    """The import, held, if it is at one of these points and the coach may. Needs a
    transaction."""
    demand_coach(by, run.streamed_class)
    found = (
        ImportRun.objects.select_for_update(of=("self",))
        .select_related(
            "streamed_class__workout", "streamed_class__gym", "streamed_class__credit_table", "gym"
        )
        .filter(pk=run.pk)
        .first()
    )
    if found is None:
        raise refuse("", "This import is not there any more.", "Begin again.", "conflict")
    if found.state not in states:
        raise refuse(
            "",
            f"This import is {found.get_state_display()}, so that can't be done now.",
            "Look at it again.",
            "conflict",
        )
    return found


def held_lines(lines: QuerySet[ImportLine]) -> list[ImportLine]:
    """Lines, held until the transaction ends, so that none that is erased comes again."""
    return list(lines.select_for_update(of=("self",)))


def write_lines(lines: Sequence[ImportLine], fields: Sequence[str]) -> None:
    """Write these fields of lines that are held. Django's own ``bulk_update`` spells each
    value out as a case of its own, which takes a hundred times as long."""
    if lines:
        ImportLine.objects.bulk_create(
            lines,
            update_conflicts=True,
            unique_fields=["id"],
            update_fields=list(fields),
            batch_size=500,
        )
