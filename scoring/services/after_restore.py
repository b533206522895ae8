"""What a backup that was put back needs before anybody may look at it."""

from __future__ import annotations

from datetime import UTC, datetime

from django.contrib.sessions.models import Session
from django.db import transaction
from django.db.models import F, Value
from django.db.models.functions import Greatest
from knox.models import AuthToken

from members.audit import record
from members.models import Gym
from scoring.models import StreamedClass

# Versions count on from here: they are told as whole numbers of 32 bits, too (RFC 5545).
_EPOCH = datetime(2026, 1, 1, tzinfo=UTC)


def new_versions(*, now: datetime) -> int:
    """Give every board a version that it can't have had before; how many there are.

    Processes, browsers and Redis keep boards by their version, and know versions that the
    backup has not come to. A class changes less than once a second, so the seconds are ahead
    of all of them, and of those of an earlier restore.
    """
    ahead = Value(int((now - _EPOCH).total_seconds()))
    return StreamedClass.objects.update(
        board_version=Greatest(F("board_version") + 1, ahead),
    )


def end_sign_ins() -> int:
    """End every session and token; how many.

    The backup has those that were ended since, such as a lost phone's, and nobody can tell
    them from the others.
    """
    sessions, _ = Session.objects.all().delete()
    tokens, _ = AuthToken.objects.all().delete()
    return sessions + tokens


@transaction.atomic
def record_restore(*, taken: datetime, now: datetime) -> None:
    """Let each gym's audit trail tell why it ends at a time and goes on at a later one."""
    for gym in Gym.objects.order_by("pk"):
        record(
            gym=gym,
            by=None,
            what="record-restore",
            subject=f"what stood on {taken.astimezone(UTC):%d %b %Y %H:%M} UTC",
            now=now,
        )
