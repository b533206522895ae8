"""The secret address of a member's calendar: made, taken back, found by its token."""

from __future__ import annotations

from datetime import datetime

from members.models import CalendarFeed, Membership
from members.tokens import hash_token, new_token


def feed_of(membership: Membership) -> CalendarFeed | None:
    """The address that works now, without its secret; ``None`` if there is none."""
    return CalendarFeed.objects.filter(membership=membership).first()


def make_feed(*, membership: Membership, now: datetime) -> str:
    """A new token, known only now. The address before it leads nowhere any more."""
    token = new_token()
    CalendarFeed.objects.update_or_create(
        membership=membership, defaults={"token_hash": hash_token(token), "made_at": now}
    )
    return token


def revoke_feed(*, membership: Membership) -> bool:
    """Make the address useless; whether there was one."""
    return CalendarFeed.objects.filter(membership=membership).delete()[0] > 0


def holder(token: str) -> Membership | None:
    """Whose address a token opens; nobody's once they left or may not sign in any more."""
    found = (
        CalendarFeed.objects.filter(
            token_hash=hash_token(token),
            membership__left_at=None,
            membership__user__is_active=True,
        )
        .select_related("membership__gym")
        .first()
    )
    return found.membership if found else None
