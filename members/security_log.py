"""What concerns who gets in, in the log: by the numbers of people, never by their names.

Who was refused stands in the line of each request already, with its status and ``user_id``; which
limit was reached is told by ``limits.py``. What is done in a gym's name stands in the audit trail;
here is what is done at the door.
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


def _listen(signal: Signal, event: str, *told: str, is_bad: bool = False, **fixed: Any) -> None:
    """Log a signal as ``event``: who it is about, what it names as ``told``, and ``fixed``."""

    def heard(sender: Any, **sent: Any) -> None:
        who = getattr(sent.get("user"), "pk", None)
        if who is None and not is_bad:
            return  # a visitor who had not signed in signs out
        say = logger.warning if is_bad else logger.info
        say(event, user_id=who, **fixed, **{name: sent.get(name) for name in told})

    signal.connect(heard, weak=False, dispatch_uid=f"security-{event}-{id(signal)}")


def connect() -> None:
    """Listen to what the accounts library tells."""
    _listen(account.user_logged_in, "signed_in")
    _listen(account.authentication_step_completed, "sign_in_proved", "method")
    _listen(account.user_logged_out, "signed_out")
    _listen(account.user_signed_up, "account_made")
    for signal in (account.email_changed, account.email_removed, account.email_added):
        _listen(signal, "address_changed")
    # After the last of its tries there must be a new code.
    for signal, method in (
        (account.login_code_rejected, "code"),
        (account.email_verification_code_rejected, "code for an address"),
    ):
        _listen(signal, "sign_in_failed", "last_attempt", is_bad=True, method=method)
    _listen(mfa.authenticator_added, "passkey_added")
    _listen(mfa.authenticator_removed, "passkey_removed")
    _listen(mfa.authentication_failed, "passkey_rejected", is_bad=True)
