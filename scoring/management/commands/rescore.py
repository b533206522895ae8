"""Recompute boards: ``manage.py rescore --class 12 --dry-run``."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from scoring.models import StreamedClass
from scoring.services.recompute import moving, recompute_class

MOST = 1_000


class Command(BaseCommand):
    help = "Recompute the scores of a class or of all, and say who moves."

    def add_arguments(self, parser: CommandParser) -> None:
        which = parser.add_mutually_exclusive_group(required=True)
        which.add_argument("--class", dest="pk", type=int, help="number of the class")
        which.add_argument("--all", action="store_true", help="every class")
        parser.add_argument("--dry-run", action="store_true", help="show it, change nothing")
        parser.add_argument(
            "--most", type=int, default=MOST, help=f"tell so many of a class who move ({MOST})"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        classes = StreamedClass.objects.select_related("workout", "credit_table", "gym")
        if not options["all"]:
            classes = classes.filter(pk=options["pk"])
            if not classes:
                raise CommandError(f"There is no class {options['pk']}.")
        for streamed_class in classes.order_by("pk"):
            found = moving(streamed_class=streamed_class, most=max(0, options["most"]))
            self.stdout.write(
                f"class {streamed_class.pk}, {streamed_class}: {found.moved} would move"
            )
            for row in found.first:
                self.stdout.write(
                    f"  {row.name}: {row.old_rank or 'unranked'} → {row.new_rank}, "
                    f"{row.old_adjusted or 'no score'} → {row.new_adjusted}"
                )
            if found.moved > len(found.first):
                self.stdout.write(f"  and {found.moved - len(found.first)} more, see --most")
            if not options["dry_run"]:
                run = recompute_class(streamed_class=streamed_class, now=timezone.now())
                self.stdout.write(f"  {run.done} recomputed, {run.moved} changed")
