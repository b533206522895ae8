"""Close classes whose time has come and send what is due, where no ``celery beat`` runs."""

from __future__ import annotations

from collections import Counter
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from scoring.messages import due, sending
from scoring.services.closing import close_due


class Command(BaseCommand):
    help = "Close classes whose time has come and send what is due; run it every few minutes."

    def handle(self, *args: Any, **options: Any) -> None:
        closed = close_due(now=timezone.now())
        for class_id in closed:
            due.closed(class_id=class_id, now=timezone.now())
        waiting = due.everything(now=timezone.now())
        ends = Counter(sending.send(pk=pk, clock=timezone.now) for pk in waiting)
        told = ", ".join(f"{count} {state}" for state, count in sorted(ends.items()))
        if closed:
            self.stdout.write(f"Classes closed: {len(closed)}")
        self.stdout.write(f"Messages due: {len(waiting)}{f' ({told})' if told else ''}")
        for message in due.stuck(now=timezone.now()):
            self.stdout.write(f"  failed in the last day: {message}: {message.fault}")
