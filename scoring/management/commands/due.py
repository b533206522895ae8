"""Send what is due: ``manage.py due``, for a site without ``celery beat``."""

from __future__ import annotations

from collections import Counter
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from scoring.messages import due, sending


class Command(BaseCommand):
    help = "Send every message that is due now, once; run it every quarter of an hour."

    def handle(self, *args: Any, **options: Any) -> None:
        waiting = due.everything(now=timezone.now())
        ends = Counter(sending.send(pk=pk, clock=timezone.now) for pk in waiting)
        told = ", ".join(f"{count} {state}" for state, count in sorted(ends.items()))
        self.stdout.write(f"Messages due: {len(waiting)}{f' ({told})' if told else ''}")
        for message in due.stuck(now=timezone.now()):
            self.stdout.write(f"  failed in the last day: {message}: {message.fault}")
