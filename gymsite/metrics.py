"""``/metrics/``: what was counted by all processes of this machine, and what waits in the
database, for Prometheus."""

from __future__ import annotations

import logging
import os
import secrets
import threading
from collections.abc import Callable, Iterator
from datetime import datetime
from time import monotonic
from typing import Any, Generic, TypeVar

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.module_loading import import_string
from django.views.decorators.http import require_safe
from prometheus_client import CONTENT_TYPE_LATEST, REGISTRY, CollectorRegistry, generate_latest
from prometheus_client.core import GaugeMetricFamily, Metric
from prometheus_client.multiprocess import MultiProcessCollector

from gymsite import processes
from gymsite.backup_age import backup_age

logger = logging.getLogger(__name__)
T = TypeVar("T")

WATCHED = "scoring.selectors.watching.watched"
BEHIND = "scoring.selectors.watching.estimates_behind"


class _Kept(Generic[T]):
    """What a call answered, for some seconds: several may ask, and ask often."""

    def __init__(self, ask: Callable[..., T], seconds: float) -> None:
        self._ask, self._seconds = ask, seconds
        self._lock = threading.Lock()
        self._until = 0.0
        self._answer: T | None = None

    def get(self, now: datetime) -> T:
        with self._lock:
            if self._answer is None or monotonic() >= self._until:
                self._answer = self._ask(now=now)
                self._until = monotonic() + self._seconds
            return self._answer

    def forget(self) -> None:
        self._until = 0.0


# By dotted name, as the addresses are: the project knows its applications by name only.
kept_watched: _Kept[Any] = _Kept(lambda now: import_string(WATCHED)(now=now), 5)
# It looks at each gym, so not at every scrape.
kept_behind: _Kept[Any] = _Kept(lambda now: import_string(BEHIND)(now=now), 60)


class Waiting:
    """A collector of what waits, asked of the database while Prometheus asks."""

    def collect(self) -> Iterator[Metric]:
        now = timezone.now()
        try:
            found, behind = kept_watched.get(now), kept_behind.get(now)
        except Exception:
            # What was counted is told even so: then it is needed most.
            logger.exception("what waits could not be read")
            yield _gauge("classboard_figures_read", "Whether the database could be asked.", 0)
        else:
            yield _gauge("classboard_figures_read", "Whether the database could be asked.", 1)
            yield from _gauges(found, behind)
        age = backup_age(now)
        if age is not None:
            yield _gauge("classboard_backup_age_seconds", "Since the last whole backup.", age)


def _gauge(name: str, told: str, value: float) -> GaugeMetricFamily:
    return GaugeMetricFamily(name, told, value=value)


def _gauges(found: Any, behind: Any) -> Iterator[Metric]:
    yield _gauge("classboard_classes_open", "Classes that take results.", found.open_classes)
    yield _gauge(
        "classboard_messages_waiting", "Messages that are due and not sent.", found.messages.number
    )
    yield _gauge(
        "classboard_message_oldest_seconds",
        "How long the message that waits longest has been due.",
        found.messages.longest,
    )
    number = GaugeMetricFamily(
        "classboard_work_unfinished", "Long work that is not finished.", labels=["kind"]
    )
    longest = GaugeMetricFamily(
        "classboard_work_oldest_seconds",
        "How long the work that waits longest has not got on.",
        labels=["kind"],
    )
    for kind, waiting in found.work.items():
        number.add_metric([kind], waiting.number)
        longest.add_metric([kind], waiting.longest)
    yield number
    yield longest
    yield _gauge(
        "classboard_estimates_behind", "Gyms with results no estimate has seen.", behind.number
    )
    yield _gauge(
        "classboard_estimate_behind_seconds",
        "The greatest age of the last estimate of such a gym.",
        behind.longest,
    )


def registry() -> CollectorRegistry:
    """All there is to tell, counted by all processes of this machine where they share it."""
    told = CollectorRegistry(auto_describe=False)
    if processes.FOLDER in os.environ:
        MultiProcessCollector(told)
    else:
        told.register(REGISTRY)
    told.register(Waiting())
    return told


@require_safe
def view(request: HttpRequest) -> HttpResponse:
    """Numbers for Prometheus: for staff, or who holds METRICS_TOKEN."""
    sent = request.headers.get("Authorization", "")
    token = settings.METRICS_TOKEN
    by_token = bool(token) and secrets.compare_digest(sent.encode(), f"Bearer {token}".encode())
    if not by_token and not getattr(request.user, "is_staff", False):
        raise PermissionDenied
    return HttpResponse(
        generate_latest(registry()),
        content_type=CONTENT_TYPE_LATEST,
        headers={"Cache-Control": "no-store"},
    )
