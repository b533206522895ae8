"""Is it alive, and is it ready: for load balancers and whatever else watches it.

Ready means that this process can serve people. Without its database, or with one that is not
of its version, it can't. Without Redis it can: boards are counted by the database, and tasks
that nobody took are found by the clock. If it then called itself unready, every machine would
at the same moment, and a site that is slow would be a site that is away.
"""

from __future__ import annotations

import logging
import os
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as TookTooLong
from dataclasses import dataclass
from threading import Lock

from django.conf import settings
from django.core.cache import cache
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.http import require_safe

logger = logging.getLogger(__name__)

PATIENCE = 4.0
"""Seconds all checks together may take. Balancers wait about five."""


class Unready(Exception):
    """Something that is checked is not as it must be; the text is told to whoever asks."""


@dataclass(frozen=True, slots=True)
class Check:
    """``is_needed`` says that nobody can be served without it."""

    name: str
    is_needed: bool
    ask: Callable[[], None]


@require_safe
def live(request: HttpRequest) -> HttpResponse:
    """The process answers; nothing else is asked."""
    return JsonResponse({"status": "alive"}, headers={"Cache-Control": "no-store"})


def _database() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")


_migrated: set[str] = set()  # databases seen to have all migrations: they don't lose them


def _migrations() -> None:
    name = str(connection.settings_dict["NAME"])
    if name in _migrated:
        return
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        raise Unready("not all applied")
    _migrated.add(name)


def _cache() -> None:
    if settings.REDIS_URL:
        cache.set("health", "good", 30)
    # Of a table it is enough that it can be read: a check must not queue with who writes.
    if cache.get("health") != "good" and settings.REDIS_URL:
        raise Unready("keeps nothing")


def _broker() -> None:
    from gymsite.celery import app

    with app.connection_for_write(connect_timeout=1) as broker:
        broker.ensure_connection(max_retries=1, timeout=2)


def checks() -> list[Check]:
    """What is checked here. The broker and a cache in Redis are only there on bigger sites."""
    listed = [
        Check("database", True, _database),
        Check("migrations", True, _migrations),
        # A table that is not there is a mistake of whoever set the site up.
        Check("cache", not settings.REDIS_URL, _cache),
    ]
    if not settings.CELERY_TASK_ALWAYS_EAGER:
        listed.append(Check("broker", False, _broker))
    return listed


def _is_good(check: Check) -> str:
    try:
        check.ask()
    except Unready as unready:
        return str(unready)
    except Exception as error:
        # Its words may name hosts and users: they are for nobody outside.
        logger.warning("not ready: %s, %s", check.name, type(error).__name__)
        return "away"
    return "good"


def _ask_all() -> dict[str, str]:
    told: dict[str, str] = {}
    try:
        for check in checks():
            # What is needed lies in the database, which is the first to be asked.
            is_lost = check.is_needed and told.get("database", "good") != "good"
            told[check.name] = "not asked" if is_lost else _is_good(check)
    finally:
        connection.close()  # of this thread
    return told


# One thread: whoever asks while a database keeps the last one waiting shares its answer.
_asker = ThreadPoolExecutor(max_workers=1, thread_name_prefix="health")
_asked: Future[dict[str, str]] | None = None
_lock = Lock()


def _states() -> dict[str, str]:
    global _asked
    with _lock:
        if _asked is None or _asked.done():
            _asked = _asker.submit(_ask_all)
        asked = _asked
    try:
        return asked.result(timeout=PATIENCE)
    except TookTooLong:
        return {check.name: "no answer in time" for check in checks()}


def is_leaving() -> bool:
    """Whether the server is about to be stopped, and wants no new visitors."""
    return bool(settings.DRAIN_FILE) and os.path.exists(settings.DRAIN_FILE)


@require_safe
def ready(request: HttpRequest) -> HttpResponse:
    """Whether visitors may be sent here: 200, or 503 with what is missing.

    ``ready``; ``degraded``, when something is away that can be done without; ``leaving``, when
    the server is about to be stopped; ``not ready``.
    """
    if is_leaving():
        return _told(503, "leaving", {})
    states = _states()
    bad = {name for name, state in states.items() if state != "good"}
    needed = {check.name for check in checks() if check.is_needed}
    if bad & needed:
        return _told(503, "not ready", states)
    return _told(200, "degraded" if bad else "ready", states)


def _told(status: int, said: str, states: dict[str, str]) -> HttpResponse:
    return JsonResponse(
        {"status": said, "checks": states}, status=status, headers={"Cache-Control": "no-store"}
    )
