"""Who signed in, who failed to, and how: a line each, with ids and no address.

Refused and throttled calls are told by the line that every request has, with its status and
its ``user_id``; which limit was reached, by ``members/limits.py``.
"""

from __future__ import annotations

from typing import Any

import structlog
from allauth.account import signals
from django.dispatch import receiver

logger = structlog.get_logger(__name__)


def _id(user: Any) -> Any:
    return getattr(user, "pk", None)


@receiver(signals.user_logged_in)
def signed_in(sender: Any, user: Any, **kwargs: Any) -> None:
    """A session began."""
    logger.info("signed_in", user_id=_id(user))


@receiver(signals.authentication_step_completed)
def proved(sender: Any, user: Any, method: str, **kwargs: Any) -> None:
    """A code or a passkey fitted."""
    logger.info("sign_in_proved", user_id=_id(user), method=method)


@receiver(signals.user_logged_out)
def signed_out(sender: Any, user: Any, **kwargs: Any) -> None:
    """A session ended by its holder's wish."""
    if user is not None:
        logger.info("signed_out", user_id=_id(user))


@receiver([signals.login_code_rejected, signals.email_verification_code_rejected])
def failed(sender: Any, user: Any, last_attempt: bool, **kwargs: Any) -> None:
    """A code did not fit; after the last of its tries there must be a new one."""
    logger.warning("sign_in_failed", user_id=_id(user), method="code", is_last=last_attempt)


@receiver([signals.email_changed, signals.email_removed, signals.email_added])
def address_changed(sender: Any, user: Any, **kwargs: Any) -> None:
    """What codes are sent to is another."""
    logger.info("sign_in_address_changed", user_id=_id(user))
