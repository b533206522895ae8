"""Make what past workouts are found by: ``manage.py index_workouts``."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from scoring.models import WorkoutIndex
from scoring.services.searching import index_workouts


class Command(BaseCommand):
    help = "Make what past workouts are found by, where it is missing or out of date."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--all", action="store_true", help="make all of it anew")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["all"]:
            WorkoutIndex.objects.all().delete()
        done = 0
        while made := index_workouts():
            done += made
        self.stdout.write(f"{done} workouts can be found now.")
