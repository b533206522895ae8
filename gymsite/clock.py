"""The clock of a site without a broker: what Celery beat would start, started here.

A gym that runs one command has no beat and no worker. Its classes must still close at their
time and its reminders go out, so the web server keeps a thread that starts each due task. All
of them can be run again and by several at once, so several servers do no harm.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Mapping
from datetime import timedelta
from typing import Any

from celery import current_app
from django.conf import settings
from django.db import close_old_connections

logger = logging.getLogger(__name__)

TICK = 15.0


def _seconds(schedule: float | timedelta) -> float:
    return schedule.total_seconds() if isinstance(schedule, timedelta) else float(schedule)


class Clock:
    """Starts tasks when they are due.

    Parameters
    ----------
    schedule
        As ``CELERY_BEAT_SCHEDULE``: entries with a ``task`` and a ``schedule`` in seconds or
        as a time span.
    start
        Called with a task's name.
    """

    def __init__(
        self, schedule: Mapping[str, Mapping[str, Any]], start: Callable[[str], object]
    ) -> None:
        self._start = start
        self._every = {entry["task"]: _seconds(entry["schedule"]) for entry in schedule.values()}
        self._next: dict[str, float] = {}

    def tick(self, now: float) -> list[str]:
        """Start what is due at ``now`` in seconds, everything at the first call. Answers
        the names; a task that fails does not keep the others from being started."""
        started = []
        for name, every in self._every.items():
            if now < self._next.get(name, now):
                continue
            self._next[name] = now + every
            started.append(name)
            try:
                self._start(name)
            except Exception:
                logger.exception("%s failed and is started again when next due", name)
        return started


def _run(name: str) -> None:
    close_old_connections()
    try:
        current_app.tasks[name].apply(throw=True)
    finally:
        close_old_connections()


def _go_on(clock: Clock) -> None:
    while True:
        time.sleep(TICK)
        clock.tick(time.monotonic())


def start() -> threading.Thread | None:
    """Start the clock's thread, once a process; ``None`` where a broker has workers."""
    if not (settings.CELERY_TASK_ALWAYS_EAGER and settings.OWN_CLOCK):
        return None
    current_app.loader.import_default_modules()  # as a worker does: it makes the tasks known
    clock = Clock(settings.CELERY_BEAT_SCHEDULE, _run)
    thread = threading.Thread(target=_go_on, args=(clock,), name="clock", daemon=True)
    thread.start()
    return thread
