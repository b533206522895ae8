"""Addresses that stand in messages: whole, since a mail program knows no site."""

from __future__ import annotations

from django.conf import settings
from django.core.signing import BadSignature, Signer
from django.urls import reverse

from members.models import Membership
from scoring.models import MessageKind

_SIGNER = "scoring.unsubscribe"


def whole(name: str, *args: object) -> str:
    """The address of a page with the site's name before it."""
    return settings.SITE_URL.rstrip("/") + reverse(name, args=args)


def unsubscribe_token(member: Membership, kind: MessageKind) -> str:
    """What switches one kind off for one member, without signing in.

    It does not run out: an old message must still be stoppable. All it can do is switch off.
    """
    return Signer(salt=_SIGNER).sign(f"{member.pk}-{kind.value}")


def read_token(token: str) -> tuple[Membership, MessageKind] | None:
    """Whose token it is and for which kind; ``None`` for one that was not made here."""
    try:
        pk, _, kind = Signer(salt=_SIGNER).unsign(token).partition("-")
    except BadSignature:
        return None
    if kind not in MessageKind.values:
        return None
    member = Membership.objects.select_related("gym").filter(pk=int(pk)).first()
    return None if member is None else (member, MessageKind(kind))


def unsubscribe_address(member: Membership, kind: MessageKind) -> str:
    return whole("unsubscribe", unsubscribe_token(member, kind))
