"""How accounts behave here, told to the library that keeps them.

Nobody has a password: an account is entered by a code sent to its e-mail address,
or by a passkey that was added before.
"""

from __future__ import annotations

from typing import Any, ClassVar

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.forms import RequestLoginCodeForm
from allauth.core import context
from allauth.core.exceptions import ImmediateHttpResponse
from allauth.core.ratelimit import respond_429
from allauth.mfa.adapter import DefaultMFAAdapter
from django.core.exceptions import ValidationError

SITE_NAME = "Class board"


class AccountAdapter(DefaultAccountAdapter):
    """Plain sentences for what may go wrong, and no question for a password."""

    error_messages: ClassVar[dict[str, Any]] = DefaultAccountAdapter.error_messages | {
        "account_inactive": "This account is closed. Ask your coach.",
        "duplicate_email": "That is the address of your account already.",
        "email_taken": "Another account here has that address.",
        "incorrect_code": "That is not the code of the newest e-mail. Look again, then type it.",
        "rate_limited": "That was too often in a short time. Wait a few minutes, then try again.",
        "too_many_login_attempts": "The code was wrong too often. Ask for a new one.",
    }

    def is_reauthentication_required(self, *, app: str, **kwargs: Any) -> bool:
        # The library would ask for a password, which nobody has. What is changed
        # about signing in is told by e-mail instead.
        return False


class PasskeyAdapter(DefaultMFAAdapter):
    """A passkey is a second door, not a second lock.

    Somebody who leaves the device with their passkey at home still gets in by a code.
    """

    error_messages: ClassVar[dict[str, Any]] = DefaultMFAAdapter.error_messages | {
        "incorrect_code": "That passkey did not fit. Try once more, or sign in by a code.",
        "unverified_email": "First sign in once by a code, so that your address is confirmed.",
    }

    def is_mfa_enabled(self, user: Any, types: Any = None) -> bool:
        return False

    def generate_authenticator_name(self, user: Any, type: Any) -> str:
        return "My passkey"

    def _get_site_name(self) -> str:
        # Devices show it when they ask whether to make or use a passkey.
        return SITE_NAME


class AskForCode(RequestLoginCodeForm):
    """Asking too often is answered as everywhere else, not as a wrong code."""

    def clean_email(self) -> str:
        try:
            email: str = super().clean_email()
        except ValidationError as error:
            if error.code == "too_many_login_attempts":
                raise ImmediateHttpResponse(respond_429(context.request)) from error
            raise
        return email
