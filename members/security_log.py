"""What concerns who gets in, in the log: by the numbers of people, never by their names.

Who was refused stands in the line of each request already, with its status. What is done in a
gym's name stands in the audit trail; here is what is done at the door.
"""

from __future__ import annotations

from typing import Any

import structlog
from allauth.account import signals as account
from allauth.mfa import signals as mfa
from django.dispatch import Signal

logger = structlog.get_logger("members.security")


def note(event: str, **ids: Any) -> None:
    """Log what happened at the door."""
    logger.info(event, **ids)


def _listen(signal: Signal, event: str, *, is_bad: bool = False) -> None:
    def heard(sender: Any, **told: Any) -> None:
        user = told.get("user")
        say = logger.warning if is_bad else logger.info
        say(event, account=getattr(user, "pk", None))

    signal.connect(heard, weak=False, dispatch_uid=f"security-{event}")


def connect() -> None:
    """Listen to what the accounts library tells."""
    _listen(account.user_logged_in, "signed_in")
    _listen(account.user_signed_up, "account_made")
    _listen(account.email_changed, "address_changed")
    _listen(account.login_code_rejected, "code_rejected", is_bad=True)
    _listen(account.email_verification_code_rejected, "address_code_rejected", is_bad=True)
    _listen(mfa.authenticator_added, "passkey_added")
    _listen(mfa.authenticator_removed, "passkey_removed")
    _listen(mfa.authentication_failed, "passkey_rejected", is_bad=True)
