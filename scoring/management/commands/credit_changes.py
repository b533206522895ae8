"""Finish changes of credits that were left: ``manage.py credit_changes``."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from scoring.models import CreditChange
from scoring.services.credit_changes import go_on


class Command(BaseCommand):
    help = "Go on with every change of credits that is not finished, to its end."

    def handle(self, *args: Any, **options: Any) -> None:
        waiting = CreditChange.objects.filter(state__in=("looking", "working")).order_by("pk")
        for change in waiting:
            got = go_on(change_id=change.pk, now=timezone.now())
            self.stdout.write(f"{change}: {got}")
        if not waiting:
            self.stdout.write("nothing to do")
