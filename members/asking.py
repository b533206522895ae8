"""Who asks, known with a third of the work: the account that a session names.

``AccountMiddleware`` puts the account where Django's own middleware looks first. Whatever is not
plainly in order (another backend, an old key, an account that is switched off) is left to
Django, which knows what to do then.
"""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import constant_time_compare

from members.models import User
from members.plain import Plain

_BY_KEY = Plain(User, "of.id = %s")


def account_of(request: HttpRequest) -> User | None:
    """The account of a session that is in order, else ``None``."""
    session = request.session
    named, proof = session.get(SESSION_KEY), session.get(HASH_SESSION_KEY)
    if session.get(BACKEND_SESSION_KEY) not in settings.AUTHENTICATION_BACKENDS or not proof:
        return None
    if not isinstance(named, str) or not (named.isascii() and named.isdigit() and len(named) < 19):
        return None
    found = _BY_KEY.rows([int(named)])
    if not found or not found[0].is_active:
        return None
    return found[0] if constant_time_compare(proof, found[0].get_session_auth_hash()) else None


class AccountMiddleware:
    """Stands between the session's middleware and that of authentication."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        # A visitor without a session's cookie is not looked up at all.
        if request.session.session_key:
            account = account_of(request)
            if account is not None:
                request._cached_user = account  # type: ignore[attr-defined]
        return self.get_response(request)
