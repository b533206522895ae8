"""The database's pool of connections, for Prometheus: who waits for one, and how long."""

from __future__ import annotations

import threading
from typing import Any

from django.core.signals import request_finished
from django.db import connection
from prometheus_client import Counter, Gauge

_OPEN = Gauge(
    "classboard_database_pool_connections",
    "Connections that processes keep.",
    ["state"],
    multiprocess_mode="livesum",
)
_WAITED = Counter("classboard_database_pool_waits", "Who had to wait for a connection.")
_WAITED_FOR = Counter("classboard_database_pool_wait_seconds", "How long they waited in all.")
_REFUSED = Counter("classboard_database_pool_errors", "Who got no connection in time.")
# By the name that the pool has for it: counts that only grow, and a factor to our unit.
_GROWING = (
    ("requests_queued", _WAITED, 1.0),
    ("requests_wait_ms", _WAITED_FOR, 0.001),
    ("requests_errors", _REFUSED, 1.0),
)
_before: dict[str, int] = {}
_lock = threading.Lock()


def take(**_: Any) -> None:
    """Note how the pool stands, at the end of a request; where there is none, nothing."""
    pool = getattr(connection, "pool", None) if connection.vendor == "postgresql" else None
    if pool is None:
        return
    now = pool.get_stats()
    with _lock:
        _OPEN.labels("idle").set(now.get("pool_available", 0))
        _OPEN.labels("in use").set(now.get("pool_size", 0) - now.get("pool_available", 0))
        for name, counter, factor in _GROWING:
            grown = now.get(name, 0) - _before.get(name, 0)
            if grown > 0:
                counter.inc(grown * factor)
            _before[name] = now.get(name, 0)


def connect() -> None:
    """Take note after each request."""
    request_finished.connect(take, dispatch_uid="classboard-pool")
