"""Limits of calls that cost no look at the cache for each call.

The cache may be a table, and counting a call there is several queries and a commit. So a
process counts a caller's first calls by itself and tells the cache, which all processes
share, with every twentieth part of the limit. A caller may thus make up to a twentieth more
calls for each process; a limit below twenty is counted exactly.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, field
from threading import Lock
from typing import Any

from rest_framework.request import Request
from rest_framework.throttling import (
    AnonRateThrottle,
    ScopedRateThrottle,
    SimpleRateThrottle,
    UserRateThrottle,
)

PARTS = 20
KEPT = 20_000


@dataclass(slots=True)
class _Counted:
    """Times of a caller's calls, in seconds: as the cache knew them, and those not told yet."""

    known: list[float] = field(default_factory=list)
    untold: list[float] = field(default_factory=list)

    def forget_until(self, past: float) -> None:
        self.known = [at for at in self.known if at > past]
        self.untold = [at for at in self.untold if at > past]


_counted: OrderedDict[str, _Counted] = OrderedDict()
_lock = Lock()


def forget() -> None:
    """Forget what this process has counted."""
    with _lock:
        _counted.clear()


class Sparing(SimpleRateThrottle):
    """Counts by itself until a part of the limit is used, then with everybody else."""

    num_requests: int
    duration: int

    def allow_request(self, request: Request, view: Any) -> bool:
        if self.rate is None or not (part := self.num_requests // PARTS):
            return super().allow_request(request, view)
        key = self.get_cache_key(request, view)
        if key is None:
            return True
        self.key, self.now = key, self.timer()
        past = self.now - self.duration
        with _lock:
            own = _counted.setdefault(key, _Counted())
            _counted.move_to_end(key)
            own.forget_until(past)
            if len(own.untold) < part and len(own.known) + len(own.untold) < self.num_requests:
                own.untold.append(self.now)
                while len(_counted) > KEPT:
                    _counted.popitem(last=False)
                return True
            untold, own.untold = own.untold, []
        told = [at for at in self.cache.get(key, []) if at > past]
        self.history = sorted((*told, *untold), reverse=True)
        is_allowed = len(self.history) < self.num_requests
        if is_allowed:
            self.history.insert(0, self.now)
        if is_allowed or untold:
            self.cache.set(key, self.history, self.duration)
        with _lock:
            own.known = list(self.history)
        return is_allowed


class AnonLimit(AnonRateThrottle, Sparing):
    """Of callers who are not signed in, by address."""


class UserLimit(UserRateThrottle, Sparing):
    """Of who is signed in."""


class ScopedLimit(ScopedRateThrottle, Sparing):
    """Of addresses that name a limit of their own."""
