"""Work out what results teach: ``manage.py estimate [--gym SLUG]``."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from members.models import Gym
from scoring.models import EstimateRun
from scoring.services.estimate_runs import ask
from scoring.services.estimating import estimate


class Command(BaseCommand):
    help = "Work out what the results of each gym teach, and print a line a gym."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--gym", help="the slug of one gym alone")

    def handle(self, *args: Any, **options: Any) -> None:
        gyms = Gym.objects.order_by("pk")
        if options["gym"]:
            gyms = gyms.filter(slug=options["gym"])
            if not gyms:
                raise CommandError(f"There is no gym {options['gym']!r}; give a slug.")
        for gym in gyms:
            ask(gym=gym, by=None, now=timezone.now())
            run = estimate(gym_id=gym.pk, clock=timezone.now)
            self.stdout.write(f"{gym.slug}: {_line(run)}")


def _line(run: EstimateRun | None) -> str:
    if run is None:
        return "somebody else is at it"
    if run.state != EstimateRun.State.GOOD:
        return f"{run.get_state_display()}. {run.why}".rstrip()
    got = run.snapshot
    return (
        f"{got.result_count} results of {got.member_count} members in {got.class_count} classes"
        f", {got.left_out} left out. {got.convergence}"
    )
