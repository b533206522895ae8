"""The outbox after a restore: what may have been sent since the backup is never sent again."""

from __future__ import annotations

from collections.abc import Collection
from datetime import UTC, datetime

from django.db import transaction

from scoring.models import Message
from scoring.services.closing import close_due

from . import due
from .outbox import UNKNOWN, forget_words

State = Message.State

RESTORED = f"A backup was restored. {UNKNOWN}"


def held_back_sql(*, tables: Collection[str], now: datetime) -> list[str]:
    """Statements for the transaction that puts a backup back, so that no worker that is
    running can take a message before it is marked.

    One that waits for a later time than now can't have been sent and goes on waiting.
    """
    if "scoring_message" not in tables:
        return []
    moment = f"'{now.astimezone(UTC):%Y-%m-%d %H:%M:%S.%f}{_zone()}'"
    return [
        f"UPDATE scoring_message SET state = 'failed', fault = '{RESTORED}', "  # noqa: S608
        f"finished_at = {moment} WHERE state = 'sending' "
        f"OR (state = 'waiting' AND not_before <= {moment})"
    ]


def _zone() -> str:
    from django.db import connection

    # SQLite keeps times as text in UTC without saying so.
    return "" if connection.vendor == "sqlite" else "+00"


@transaction.atomic
def hold_back(*, now: datetime) -> int:
    """Mark what would be made and sent now for times and deeds since the backup; with what
    ``held_back_sql`` marked, how many messages are not sent.

    Everything that fell due in between was made and sent by the site that was lost, or may
    have been: so it is made here, and marked before anybody sees it. Classes whose time came
    are closed for the same reason.
    """
    for class_id in close_due(now=now):
        due.closed(class_id=class_id, now=now)
    due.missed(now=now)
    due.reminders(now=now)
    due.weekly(now=now)
    Message.objects.filter(state=State.WAITING, not_before__lte=now).update(
        state=State.FAILED, fault=RESTORED, finished_at=now
    )
    forget_words(now=now)
    return Message.objects.filter(state=State.FAILED, fault=RESTORED, finished_at=now).count()
