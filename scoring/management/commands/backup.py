"""Back the whole database up: ``manage.py backup /var/backups/board --keep 14``."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from gymsite.backups import BackupError, make_backup, remove_old
from gymsite.backups.manifest import backups_in, read_manifest
from scoring.services import erasure_ledger


def _at_least_one(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError("at least one backup is kept")
    return number


class Command(BaseCommand):
    help = "Back the database up into a folder, check the backup, and remove old ones if asked to."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", type=Path, help="where backups are kept; made if missing")
        parser.add_argument(
            "--keep",
            type=_at_least_one,
            metavar="N",
            help="then remove all but the newest N backups in that folder; else none",
        )
        parser.add_argument(
            "--verify",
            action="store_true",
            help="check it as far as can be: SQLite each row's references too, PostgreSQL by a "
            "trial restore into a database of its own",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        folder: Path = options["folder"]
        try:
            made = make_backup(folder, fully=options["verify"])
            self.stdout.write(
                f"{made.path}: {made.manifest.total} rows in {len(made.manifest.rows)} tables, "
                f"{made.manifest.size} bytes ({made.manifest.checked})"
            )
            removed = remove_old(folder, keep=options["keep"]) if options["keep"] else []
            kept = [read_manifest(each).taken for each in backups_in(folder)]
            erasure_ledger.note(folder=folder, now=timezone.now(), oldest=min(kept))
        except BackupError as error:
            raise CommandError(str(error)) from None
        except (OSError, ValueError) as error:
            raise CommandError(f"The backup is there, but not all else was done: {error}") from None
        for path in removed:
            self.stdout.write(f"removed {path.name}")
