"""Take the whole site to another database: ``manage.py move_to postgres://…``."""

from __future__ import annotations

import os
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from gymsite.backups import BackupError
from gymsite.backups.moving import move, run_manage

VARIABLE = "MOVE_TO_URL"


class Command(BaseCommand):
    help = (
        "Copy everything into an empty database, such as from SQLite to PostgreSQL, and compare "
        "all of it. Stop the web server and the workers before."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "url",
            nargs="?",
            help=f"as DATABASE_URL; better in the variable {VARIABLE}, since everybody on this "
            "machine can read a command line",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        url = options["url"] or os.environ.get(VARIABLE, "")
        if not url:
            raise CommandError(f"Say where to: give an address, or set {VARIABLE}.")
        chatty = options["verbosity"] > 1
        try:
            total = move(url, say=self.stdout.write if chatty else lambda text: None)
            self.stdout.write(f"{total} rows are there, each compared with what it was.")
            self.stdout.write(run_manage(url, "verify").strip())
        except BackupError as error:
            raise CommandError(str(error)) from None
        self.stdout.write(
            "Set DATABASE_URL to the new database and start the site. The old one is as it was: "
            "keep it until you are sure."
        )
