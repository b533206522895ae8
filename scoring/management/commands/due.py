"""Close classes, send what is due and go on with what stopped, where no ``celery beat`` runs."""

from __future__ import annotations

from collections import Counter
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from scoring import tasks
from scoring.messages import due, sending
from scoring.services.closing import close_due


class Command(BaseCommand):
    help = (
        "Close classes whose time has come, send what is due, and go on with recomputes and "
        "copies of data that stopped; run it every few minutes."
    )

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
        if gone_on := tasks.go_on_recomputes():
            self.stdout.write(f"Recomputes taken up again: {gone_on}")
        if made := tasks.make_exports():
            self.stdout.write(f"Copies of data taken up again: {made}")
        for message in due.stuck(now=timezone.now()):
            self.stdout.write(f"  failed in the last day: {message}: {message.fault}")
