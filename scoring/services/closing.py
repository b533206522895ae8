"""Classes that close by themselves at a set time."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from members.models import Membership
from scoring.models import State, StreamedClass
from scoring.problems import refuse

from .classes import _change_state, _check_times, _locked, _record


@transaction.atomic
def set_closing(
    *, streamed_class: StreamedClass, by: Membership, closes_at: datetime | None, now: datetime
) -> StreamedClass:
    """Let a class that is not closed close by itself at a time; ``None`` for by hand.

    Raises ``Refused`` for a time that has passed, lies before the start or far off.
    """
    row = _locked(streamed_class, by)
    if row.state == State.CLOSED:
        raise refuse("closes_at", "This class is closed already.", "Reopen it first.", "conflict")
    if closes_at is not None and closes_at <= now:
        raise refuse("closes_at", "That time has passed.", "Write a later one, or close it now.")
    _check_times(row.starts_at, closes_at)
    if row.closes_at != closes_at:
        told = closes_at.isoformat() if closes_at else "by hand"
        row.closes_at = closes_at
        row.save(update_fields=["closes_at"])
        _record(row, by, "set-closing-time", now, {"to": told})
    return row


def close_due(*, now: datetime) -> list[int]:
    """Close every open class whose time has come; answers their ids. Can be run again."""
    due = StreamedClass.objects.filter(state=State.OPEN, closes_at__lte=now).order_by("pk")
    return [pk for pk in due.values_list("pk", flat=True) if _close(pk, now)]


@transaction.atomic
def _close(pk: int, now: datetime) -> bool:
    row = (
        StreamedClass.objects.select_for_update(of=("self",))
        .select_related("workout", "gym", "credit_table")
        .filter(pk=pk, state=State.OPEN, closes_at__lte=now)  # it may have changed meanwhile
        .first()
    )
    if row is None:
        return False
    _change_state(row, None, now, State.CLOSED, State.OPEN)
    return True
