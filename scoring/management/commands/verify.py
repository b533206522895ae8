"""Check what must hold: ``manage.py verify [--class 12] [--gym SLUG] [--json]``."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError

from members.models import Gym
from scoring.models import StreamedClass
from scoring.verifying import CannotVerify, Finding, Looked, findings
from scoring.verifying.storage import demand_migrated


class Command(BaseCommand):
    help = (
        "Check that scores, boards, references and the audit trail are as they must be. "
        "Only reads. Exit status: 0 nothing found, 1 something, 2 it could not be done."
    )
    # Looking for what is wrong must not stop at what the system checks say.
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--class", dest="classes", type=int, action="append", default=[], metavar="ID",
            help="only what hangs on this class; may be given several times",
        )  # fmt: skip
        parser.add_argument("--gym", metavar="SLUG", help="only what hangs on this gym's classes")
        parser.add_argument("--json", action="store_true", help="print it for programs")

    def handle(self, *args: Any, **options: Any) -> None:
        looked, count = Looked(), 0
        try:
            demand_migrated()
            class_ids = self._class_ids(options["classes"], options["gym"])
            if options["json"]:
                self.stdout.write('{"findings": [', ending="")
            for finding in findings(class_ids=class_ids, looked=looked):
                self._tell(finding, is_first=not count, as_json=options["json"])
                count += 1
        except (CannotVerify, DatabaseError) as error:
            raise CommandError(f"It could not be verified. {error}", returncode=2) from error
        self._sum_up(looked, count, as_json=options["json"])
        if count:
            raise SystemExit(1)

    def _class_ids(self, classes: list[int], gym: str | None) -> list[int] | None:
        """Which classes to look at, ``None`` for everything."""
        if gym is None and not classes:
            return None
        there = StreamedClass.objects.order_by("pk")
        known = there.filter(pk__in=classes).values_list("pk", flat=True)
        missing = sorted(set(classes) - set(known))
        if missing:
            raise CommandError(f"There is no class {missing[0]}.", returncode=2)
        if gym is None:
            return sorted(set(classes))
        row = Gym.objects.filter(slug=gym).first()
        if row is None:
            raise CommandError(f"There is no gym {gym!r}; give a slug.", returncode=2)
        own = there.filter(gym=row)
        return list((own.filter(pk__in=classes) if classes else own).values_list("pk", flat=True))

    def _tell(self, finding: Finding, *, is_first: bool, as_json: bool) -> None:
        if as_json:
            told = json.dumps(asdict(finding), ensure_ascii=False)
            self.stdout.write(("" if is_first else ",") + "\n  " + told, ending="")
            return
        self.stdout.write(f"{finding.check}: {finding.subject}: {finding.detail}")
        self.stdout.write(f"  to do: {finding.remedy}")

    def _sum_up(self, looked: Looked, count: int, *, as_json: bool) -> None:
        if as_json:
            told = json.dumps(looked.counts, ensure_ascii=False)
            notes = json.dumps(looked.notes, ensure_ascii=False)
            self.stdout.write(f'\n], "count": {count}, "looked_at": {told}, "notes": {notes}}}')
            return
        for note in looked.notes:
            self.stdout.write(f"note: {note}")
        counted = ", ".join(f"{number} {what}" for what, number in looked.counts.items())
        self.stdout.write(f"Looked at {counted or 'nothing'}.")
        self.stdout.write(f"{count} findings." if count else "Nothing found.")
