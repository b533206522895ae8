"""SQLite: copied by its online backup, which gives one state while others write."""

from __future__ import annotations

import os
import shutil
import sqlite3
import time
from collections.abc import Callable, Sequence
from contextlib import closing
from pathlib import Path

from .kinds import Held, Kind, by_app, compare
from .manifest import private
from .problems import BackupError

PATIENCE = 60.0
"""Seconds to wait for whoever is writing."""


def _open(path: Path, mode: str = "ro") -> sqlite3.Connection:
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode={mode}", uri=True, timeout=20)


def _deadline() -> Callable[[int, int, int], None]:
    end = time.monotonic() + PATIENCE

    def so_far(status: int, remaining: int, total: int) -> None:
        if remaining and time.monotonic() > end:
            raise BackupError(
                f"Somebody has been writing for {PATIENCE:.0f} seconds without an end. "
                "Stop the site and try again."
            )

    return so_far


def _rows(copy: sqlite3.Connection) -> dict[str, int]:
    tables = copy.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite~_%' "
        "ESCAPE '~' ORDER BY name"
    ).fetchall()
    counts: dict[str, int] = {}
    for (table,) in tables:
        counts[table] = copy.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0]  # noqa: S608
    return counts


class SQLite(Kind):
    name = "sqlite"
    words = "SQLite"
    file = "data.sqlite3"

    @property
    def path(self) -> Path:
        return Path(str(self.connection.settings_dict["NAME"]))

    def server(self) -> str:
        return sqlite3.sqlite_version

    def dump(self, path: Path) -> Held:
        if not self.path.is_file():
            raise BackupError(f"There is no database {self.path}, so nothing to back up.")
        os.close(private(str(path), os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        with closing(_open(self.path)) as source, closing(sqlite3.connect(path)) as copy:
            # All pages in one step: one state, and in WAL mode nobody waits for it.
            source.backup(copy, pages=-1, progress=_deadline())
            # One file, without a log beside it.
            copy.execute("PRAGMA journal_mode=DELETE")
            rows = _rows(copy)
            if "django_migrations" not in rows:
                raise BackupError(f"{self.path} is not a site's database: run migrate first.")
            applied = copy.execute("SELECT app, name FROM django_migrations").fetchall()
        return Held(by_app(applied), rows)

    def check(self, path: Path, rows: dict[str, int], *, fully: bool) -> str:
        look = "integrity_check" if fully else "quick_check"
        try:
            with closing(_open(path)) as copy:
                said = copy.execute(f"PRAGMA {look}").fetchall()
                if said != [("ok",)]:
                    raise BackupError(f"The copy is damaged: {said[0][0]}")
                compare(rows, _rows(copy))
                if fully and (broken := copy.execute("PRAGMA foreign_key_check").fetchall()):
                    raise BackupError(f"{len(broken)} rows refer to rows that are not there.")
        except sqlite3.Error as error:
            raise BackupError(f"The copy can't be read: {error}.") from None
        whole = " and foreign_key_check" if fully else ""
        return f"opened, {look}{whole}, rows counted"

    def restore(self, path: Path, also: Sequence[str]) -> None:
        self.connection.close()
        self.path.parent.mkdir(parents=True, exist_ok=True)
        # What changes is changed in a copy; the target sees one transaction. Replacing the
        # file instead would leave processes that have it open with the old one.
        scratch = self.path.with_name(f".{self.path.name}.restore-{os.getpid()}")
        try:
            os.close(private(str(scratch), os.O_CREAT | os.O_TRUNC | os.O_WRONLY))
            shutil.copyfile(path, scratch)
            with closing(sqlite3.connect(scratch)) as source:
                with source:
                    for statement in also:
                        source.execute(statement)
                with closing(sqlite3.connect(self.path, timeout=20)) as target:
                    source.backup(target, pages=-1, progress=_deadline())
                    target.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        except sqlite3.Error as error:
            raise BackupError(
                f"SQLite could not put it in place: {error}. The database is as it was."
            ) from None
        finally:
            for left in (scratch, scratch.with_name(scratch.name + "-journal")):
                left.unlink(missing_ok=True)
