"""Celery's beat, which would stand still after the clock was set back."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from celery.beat import PersistentScheduler

SLACK = timedelta(seconds=5)


class Scheduler(PersistentScheduler):
    """Counts from now on where a task ran "later" than now.

    Celery would wait until the clock has caught up, and after a restart too, since it keeps
    the times in a file: classes would not close and nothing that stopped be taken up.
    """

    def tick(self, *args: Any, **kwargs: Any) -> float:
        """Start what is due; seconds until to ask again."""
        for entry in self.schedule.values():
            now = entry.default_now()
            if entry.last_run_at is not None and entry.last_run_at > now + SLACK:
                entry.last_run_at = now
                self._heap = None  # made anew from the entries
        return float(super().tick(*args, **kwargs))
