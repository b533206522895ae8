"""Limits of programs, where the cache that counts calls may be away or full.

Reading and logging then go on uncounted: results of a class that just ended are worth more
than a limit. Tokens are not made uncounted, and neither are codes to sign in by, whose limits
the accounts library keeps: there the error stays an error and is answered with a 503.
"""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING

from django.core.cache.backends.base import BaseCache
from django.db import DatabaseError
from redis.exceptions import RedisError
from rest_framework.request import Request
from rest_framework.throttling import (
    AnonRateThrottle,
    ScopedRateThrottle,
    SimpleRateThrottle,
    UserRateThrottle,
)

from members.pause import Pause

if TYPE_CHECKING:  # the settings of the library name this module while it is being loaded
    from rest_framework.views import APIView

logger = logging.getLogger(__name__)

NEVER_UNCOUNTED = frozenset(("token",))
_pause = Pause()


class Counted(SimpleRateThrottle):
    """A limit that lets through what it can't count."""

    cache: BaseCache
    num_requests: int | None

    def allow_request(self, request: Request, view: APIView) -> bool:
        if getattr(view, "throttle_scope", None) in NEVER_UNCOUNTED:
            return super().allow_request(request, view)
        if _pause.is_on:
            return True
        try:
            return super().allow_request(request, view)
        except (RedisError, DatabaseError) as error:
            _pause.begin()
            logger.warning("calls are not counted for a while: %s", type(error).__name__)
            return True

    def throttle_failure(self) -> bool:
        # Calls "yet to come" were counted before the clock was set back; they would fill the
        # limit until it has caught up.
        past = [at for at in self.history if at <= self.now]
        if len(past) < min(len(self.history), self.num_requests or 0):
            self.history: list[float] = past
            return bool(self.throttle_success())
        return bool(super().throttle_failure())


class StrangersLimit(Counted, AnonRateThrottle):
    """Calls by whoever has not signed in, by address."""


class UserLimit(Counted, UserRateThrottle):
    """Calls by one account."""


class ScopedLimit(Counted, ScopedRateThrottle):
    """Calls by one account of a kind that a view names, such as writing results."""
