"""Ending every sign-in of somebody at once, for a phone that was lost or lent."""

from __future__ import annotations

import structlog
from django.db import transaction

from members.devices import tokens_of
from members.models import User

logger = structlog.get_logger(__name__)


def sign_out_everywhere(*, user: User) -> None:
    """End all sessions and tokens of somebody, the one that asks among them.

    A session holds a hash of the account's password field. Nobody has a password; the field
    is random, and once it is another no session fits any more.
    """
    with transaction.atomic():
        user.set_unusable_password()
        user.save(update_fields=["password"])
        tokens_of(user).delete()
    logger.info("signed_out_everywhere", user_id=user.pk)
