"""Erase who asked for it and whose days of grace are over: ``manage.py erase_due``."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from scoring.services.erasing import erase_due
from scoring.services.exporting import drop_expired


class Command(BaseCommand):
    help = "Erase who asked for it and is due; drop copies of data that ran out. Run it daily."

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        dropped, done = drop_expired(now=now), erase_due(now=now)
        self.stdout.write(
            f"{len(done.erased)} erased, {len(done.hindered)} wait for another owner of their "
            f"gym, {dropped} copies of data dropped"
        )
