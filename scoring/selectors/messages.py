"""What a member wants to be told by e-mail, and what lies in the outbox."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db.models import QuerySet

from members.models import Membership
from scoring import access
from scoring.models import Message, MessageSettings

UNKNOWN_AFTER = timedelta(hours=1)


def message_settings_for(*, member: Membership, viewer: access.Viewer) -> MessageSettings | None:
    """A member's own settings, for themselves only; those of who never set any are not kept."""
    if viewer is None or viewer.pk != member.pk:
        return None
    return MessageSettings.objects.filter(member=member).first() or MessageSettings(member=member)


def reachable(members: QuerySet[Membership]) -> QuerySet[Membership]:
    """Those of them who can be written to: still there, with a proven address of an account."""
    return members.filter(
        left_at__isnull=True,
        user__is_active=True,
        user__emailaddress__primary=True,
        user__emailaddress__verified=True,
    ).select_related("gym", "user", "message_settings")


def has_proven_address(*, member: Membership) -> bool:
    """Whether messages can be sent to a member."""
    return reachable(Membership.objects.filter(pk=member.pk)).exists()


def proven_address(*, member: Membership) -> str | None:
    """Where a member is written to now; ``None`` if they can't be."""
    found = reachable(Membership.objects.filter(pk=member.pk))
    address: str | None = found.values_list("user__emailaddress__email", flat=True).first()
    return address


def waiting_messages(*, now: datetime) -> QuerySet[Message]:
    """What is to be sent now, the oldest first."""
    return Message.objects.filter(state=Message.State.WAITING, not_before__lte=now).order_by(
        "not_before", "pk"
    )


def unknown_messages(*, now: datetime) -> QuerySet[Message]:
    """What somebody took to send an hour ago and never said a word about since."""
    return Message.objects.filter(
        state=Message.State.SENDING, claimed_at__lte=now - UNKNOWN_AFTER
    ).order_by("claimed_at", "pk")
