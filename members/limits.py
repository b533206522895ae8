"""How often somebody may do a thing: counted per person, by address for strangers only.

A household or a gym shares one address, so who is signed in is never counted by it. Pages and
the API count together, in this process's memory: that costs no query, holds while the cache is
away, and lets several processes allow a little more than one would, which matters little for
limits that are generous. Signing in is counted exactly, in the shared cache, by the library of
accounts (``ACCOUNT_RATE_LIMITS``).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection
from functools import wraps
from typing import Any, Concatenate, ParamSpec

import structlog
from allauth.core.ratelimit import respond_429
from django.conf import settings
from django.core.cache import caches
from django.http import HttpRequest, HttpResponse
from django.utils.connection import ConnectionProxy
from rest_framework.throttling import (
    AnonRateThrottle,
    ScopedRateThrottle,
    SimpleRateThrottle,
    UserRateThrottle,
)

P = ParamSpec("P")
Page = Callable[Concatenate[HttpRequest, P], HttpResponse]

logger = structlog.get_logger(__name__)
counts = ConnectionProxy(caches, "limits")  # type: ignore[no-untyped-call]


class _InProcess(SimpleRateThrottle):
    cache = counts  # type: ignore[assignment]
    num_requests: int | None

    def get_rate(self) -> str | None:
        rate: str | None = settings.REST_FRAMEWORK["DEFAULT_THROTTLE_RATES"][self.scope]
        return rate

    def throttle_failure(self) -> bool:
        # What lies ahead was counted before the clock was set back; it would fill the limit
        # until the clock has caught up.
        past = [at for at in self.history if at <= self.now]
        if len(past) < min(len(self.history), self.num_requests or 0):
            self.history: list[float] = past
            return bool(self.throttle_success())
        logger.warning("limit_reached", scope=self.scope)
        return bool(super().throttle_failure())


class OfStrangers(_InProcess, AnonRateThrottle):
    """All that a stranger's address asks of the API."""


class OfPersons(_InProcess, UserRateThrottle):
    """All that a person asks of the API."""


class OfScope(_InProcess, ScopedRateThrottle):
    """What a view names as its ``throttle_scope``."""


class Limit(_InProcess):
    """One scope, asked without a view of the API: ``Limit("submit").wait_of(request)``."""

    def __init__(self, scope: str) -> None:
        self.scope = scope
        super().__init__()

    def get_cache_key(self, request: Any, view: Any) -> str:
        ident = request.user.pk if request.user.is_authenticated else self.get_ident(request)
        return self.cache_format % {"scope": self.scope, "ident": ident}

    def wait_of(self, request: HttpRequest) -> int:
        """Count this request. Seconds until the next would be let through; 0 lets it through."""
        if self.allow_request(request, None):  # type: ignore[arg-type]
            return 0
        return max(1, math.ceil(self.wait() or 1))


def too_often(request: HttpRequest, wait: int) -> HttpResponse:
    """The site's answer to who has to wait so many seconds."""
    request.wait = wait  # type: ignore[attr-defined]
    return respond_429(request)


def limited(scope: str, *, acts: Collection[str] = ()) -> Callable[[Page[P]], Page[P]]:
    """Let a page take only so many forms, of ``acts`` if only some; looking is never counted."""

    def decorate(page: Page[P]) -> Page[P]:
        @wraps(page)
        def counted(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            counts_here = request.method == "POST" and (not acts or request.POST.get("act") in acts)
            wait = Limit(scope).wait_of(request) if counts_here else 0
            return too_often(request, wait) if wait else page(request, *args, **kwargs)

        return counted

    return decorate
