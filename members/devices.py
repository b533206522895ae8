"""Tokens with which a device or a program speaks for somebody."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import QuerySet
from knox.models import AuthToken, get_token_model

from members.models import User
from members.security_log import note


@dataclass(frozen=True, slots=True)
class NewToken:
    """A token just made. ``token`` is known only now: a digest of it is kept."""

    row: AuthToken
    token: str


def tokens_of(user: User) -> QuerySet[AuthToken]:
    """Somebody's tokens, the newest first."""
    found: QuerySet[AuthToken] = (
        get_token_model().objects.filter(user=user).order_by("-created", "pk")
    )
    return found


def make_token(*, user: User) -> NewToken:
    """Make a token that lasts as long as the settings say."""
    row, token = get_token_model().objects.create(user=user)
    note("token_made", user_id=user.pk)
    return NewToken(row, token)


def revoke_token(*, user: User, key: str) -> bool:
    """Make a token useless, named by its first letters; whether there was one."""
    deleted, _ = tokens_of(user).filter(token_key=key).delete()
    if deleted:
        note("token_revoked", user_id=user.pk)
    return bool(deleted)
