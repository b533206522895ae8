"""How long tasks wait for a worker and how long they take, for Prometheus."""

from __future__ import annotations

import logging
import os
import time
from typing import Any

from celery import signals
from prometheus_client import REGISTRY as OWN
from prometheus_client import CollectorRegistry, Counter, Histogram, multiprocess, start_http_server

from gymsite import processes

logger = logging.getLogger(__name__)

SENT_AT = "classboard_sent_at"
_BUCKETS = (0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30, 60, 120, 300, 900, 3600)

_WAIT = Histogram(
    "classboard_task_wait_seconds",
    "From when a task was asked for, or due, to when a worker began it.",
    ["task"],
    buckets=_BUCKETS,
)
_TIME = Histogram(
    "classboard_task_seconds", "How long a task took.", ["task", "state"], buckets=_BUCKETS
)
_FAILED = Counter("classboard_tasks_failed", "Tasks that ended with an error.", ["task"])


@signals.before_task_publish.connect
def _sent(headers: dict[str, Any] | None = None, **_: Any) -> None:
    if headers is not None:
        headers[SENT_AT] = time.time()


@signals.task_prerun.connect
def _begun(task: Any = None, **_: Any) -> None:
    sent = getattr(task.request, SENT_AT, None)
    if isinstance(sent, int | float):
        # Clocks of two machines differ a little: never before it was asked for.
        _WAIT.labels(task.name).observe(max(0.0, time.time() - sent))
    task.request.classboard_begun = time.monotonic()


@signals.task_postrun.connect
def _ended(task: Any = None, state: str | None = None, **_: Any) -> None:
    begun = getattr(task.request, "classboard_begun", None)
    if begun is not None:
        _TIME.labels(task.name, str(state or "unknown").lower()).observe(time.monotonic() - begun)
    if state == "FAILURE":
        _FAILED.labels(task.name).inc()


def serve(address: str) -> None:
    """Answer Prometheus on ``host:port`` with the figures of a worker's processes."""
    host, _, port = address.rpartition(":")
    registry = OWN
    if processes.FOLDER in os.environ:
        registry = CollectorRegistry()
        multiprocess.MultiProcessCollector(registry)
    else:
        logger.warning("%s is not set: what child processes count is not told", processes.FOLDER)
    start_http_server(int(port), host or "127.0.0.1", registry)
