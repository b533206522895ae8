"""Put a backup back: ``manage.py restore /var/backups/board/board-20261126T031500Z``."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError
from django.utils import timezone

from gymsite.backups import (
    BackupError,
    Manifest,
    check_backup,
    find_backup,
    holds_data,
    make_backup,
    put_back,
)
from gymsite.backups.forgetting import forget_all
from scoring.messages.after_restore import held_back_sql, hold_back
from scoring.services import after_restore, erasure_ledger
from scoring.verifying import CannotVerify, Looked, findings


class Command(BaseCommand):
    help = (
        "Put a backup in the place of the database in use. Stop the web server and the workers "
        "before, and start them after."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("backup", type=Path, help="the folder of one backup")
        parser.add_argument(
            "--replace",
            action="store_true",
            help="although the database holds data; what is there is backed up first",
        )
        parser.add_argument(
            "--keep-sign-ins",
            action="store_true",
            help="don't end sessions and tokens, as when a site moves to another machine",
        )
        parser.add_argument(
            "--check", action="store_true", help="only check the backup, change nothing"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        try:
            path = find_backup(options["backup"])
            manifest = check_backup(path, fully=options["check"])
            if options["check"]:
                self.stdout.write(f"{path.name} is whole: {_told(manifest)}.")
                return
            self._put_aside(path.parent, options["replace"], now)
            entries = erasure_ledger.read(path.parent)
            also = held_back_sql(tables=manifest.rows, now=now)
            migrated = put_back(path, manifest, also=also)
        except (BackupError, ValueError) as error:
            raise CommandError(str(error)) from None
        self._settle(manifest, entries, now, keep_sign_ins=options["keep_sign_ins"])
        if migrated:
            self.stdout.write(f"Brought up to this program by {len(migrated)} migrations.")
        is_clean = self._verify()
        self.stdout.write(f"Restored {path.name}: {_told(manifest)}. Start the site again.")
        if not is_clean:
            raise CommandError("It was restored as it was; what is wrong in it stands above.")

    def _verify(self) -> bool:
        """Let the data be checked against each other, and say what is found.

        Work that was in the middle when the backup was made is gone on with when the site
        starts, so that is no fault of what was restored.
        """
        is_clean = True
        try:
            for finding in findings(class_ids=None, looked=Looked()):
                self.stdout.write(f"{finding.check}: {finding.subject}: {finding.detail}")
                self.stdout.write(f"  to do: {finding.remedy}")
                is_clean &= finding.check.endswith("-stopped")
        except CannotVerify as error:
            self.stderr.write(f"It could not be verified. {error}")
            return False
        return is_clean

    def _put_aside(self, folder: Path, replace: bool, now: datetime) -> None:
        """Refuse to overwrite data, or back them up beside the backup first."""
        try:
            is_full = holds_data()
        except DatabaseError as error:
            raise CommandError(
                f"The database in use can't be read ({error}), so it can't be backed up before it "
                "is replaced. Move it away, or make an empty one, then restore again."
            ) from None
        if not is_full:
            return
        if not replace:
            raise CommandError(
                "The database in use holds data. With --replace they are backed up, then replaced."
            )
        kept = make_backup(folder, prefix="before-restore")
        self.stdout.write(f"What was there is in {kept.path}: {_told(kept.manifest)}.")
        erasure_ledger.note(folder=folder, now=now)

    def _settle(
        self,
        manifest: Manifest,
        entries: list[erasure_ledger.Entry],
        now: datetime,
        *,
        keep_sign_ins: bool,
    ) -> None:
        if unforgotten := forget_all():
            self.stderr.write(unforgotten)
        again = erasure_ledger.do_again(entries=entries, now=now)
        held = hold_back(now=now)
        boards = after_restore.new_versions(now=now)
        ended = 0 if keep_sign_ins else after_restore.end_sign_ins()
        after_restore.record_restore(taken=manifest.taken, now=now)
        forget_all()
        say = self.stdout.write
        say(f"Boards: {boards} have a new version, nothing kept of them is shown.")
        say(
            "Sign-ins: kept as they were at the backup."
            if keep_sign_ins
            else f"Sign-ins: {ended} sessions and tokens ended; everybody signs in again."
        )
        say(f"Messages: {held} may have been sent since the backup and are not sent again.")
        for words, accounts in (
            ("erased again, as was done or had been asked", again.erased),
            ("due to be erased, and the last owner of a gym", again.hindered),
            ("will be erased on the day they were told", again.asked),
            ("stay, since they took it back", again.taken_back),
        ):
            if accounts:
                say(f"Accounts {words}: {', '.join(map(str, accounts))}.")


def _told(manifest: Manifest) -> str:
    return (
        f"{manifest.total} rows in {len(manifest.rows)} tables, as of "
        f"{manifest.taken.astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC"
    )
