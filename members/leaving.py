"""Leaving a gym of one's own will, and who has to stay until somebody else is there."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from members.audit import record
from members.models import Gym, Invitation, Membership, Role, User
from members.problems import Refused


def gyms_without_another_owner(memberships: Iterable[Membership]) -> list[Gym]:
    """The gyms that would have no owner who can sign in without these memberships."""
    alone = []
    for membership in memberships:
        if not membership.is_owner:
            continue
        others = Membership.objects.filter(
            gym=membership.gym_id, role=Role.OWNER, left_at=None, user__isnull=False
        ).exclude(pk=membership.pk)
        if not others.exists():
            alone.append(membership.gym)
    return alone


def demand_another_owner(memberships: Iterable[Membership]) -> None:
    """Raises ``Refused`` (conflict) for the last owner of a gym."""
    alone = gyms_without_another_owner(memberships)
    if alone:
        raise Refused(
            "gym",
            f"You are the last owner of {', '.join(gym.name for gym in alone)}.",
            "Make somebody else an owner on the page Members first.",
            kind="conflict",
        )


def leave_gym(*, membership: Membership, now: datetime) -> Membership:
    """Go. Results stay on the boards as they are; an invitation lets one back in to them.

    The last owner stays. Doing it twice keeps the first time.
    """
    with transaction.atomic():
        # As in services.change_role: two owners must not leave each other alone at once.
        Gym.objects.select_for_update().get(pk=membership.gym_id)
        row = Membership.objects.select_related("gym").get(pk=membership.pk)
        if row.left_at is not None:
            return row
        demand_another_owner([row])
        row.left_at = now
        row.save(update_fields=["left_at"])
        Invitation.objects.filter(membership=row, revoked_at=None).update(revoked_at=now)
        record(gym=row.gym, by=row, what="leave-gym", member=row, now=now)
        return row


def all_memberships(user: User) -> list[Membership]:
    """Where somebody belongs and where they once did, the oldest first."""
    return list(
        Membership.objects.filter(user=user).select_related("gym").order_by("joined_at", "pk")
    )
