"""Making a backup: under a temporary name, checked, on the disk, and only then named."""

from __future__ import annotations

import os
import shutil
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from gymsite.releases import latest

from .kinds import kind_of
from .manifest import Manifest, backups_in, sha256_of, sync
from .problems import BackupError

PREFIX = "board"
PART = ".part-"
"""Begins the name of a backup that is being made."""

LEFT_OVER = 24 * 3600.0
"""Seconds after which a part that nobody finished is cleared away."""


@dataclass(frozen=True, slots=True)
class Made:
    """A backup, and where it lies."""

    path: Path
    manifest: Manifest


def make_backup(folder: Path, *, prefix: str = PREFIX, fully: bool = False) -> Made:
    """Back the database in use up into a new folder within ``folder``, and check it.

    People may write meanwhile. Raises ``BackupError``; then nothing is left behind.
    """
    kind = kind_of()
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        _clear_parts(folder)
        part = folder / f"{PART}{os.getpid()}-{time.monotonic_ns()}"
        part.mkdir(mode=0o700)
    except OSError as error:
        raise BackupError(f"Can't write to {folder}: {error.strerror}.") from None
    try:
        taken = datetime.now(UTC)
        data = part / kind.file
        held = kind.dump(data)
        checked = kind.check(data, held.rows, fully=fully)
        sync(data)
        manifest = Manifest(
            taken_at=taken.isoformat(),
            program=latest().name,
            kind=kind.name,
            server=kind.server(),
            migrations=held.migrations,
            rows=held.rows,
            file=kind.file,
            size=data.stat().st_size,
            sha256=sha256_of(data),
            checked=checked,
        )
        manifest.write(part)
        sync(part)
        path = _name(part, folder, f"{prefix}-{taken:%Y%m%dT%H%M%SZ}")
        sync(folder)
    except OSError as error:
        raise BackupError(f"Can't write to {folder}: {error.strerror}.") from None
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return Made(path, manifest)


def _name(part: Path, folder: Path, name: str) -> Path:
    """Give it its name; a second one in the same second is counted on."""
    for number in range(1, 100):
        path = folder / (name if number == 1 else f"{name}-{number}")
        try:
            part.rename(path)  # refuses a folder that holds something
        except OSError:
            if not path.exists():
                raise
        else:
            return path
    raise BackupError(f"There are a hundred backups named {name} already.")


def _clear_parts(folder: Path) -> None:
    """Clear away what a backup that died left behind a day ago or longer."""
    for part in folder.glob(f"{PART}*"):
        if part.stat().st_mtime < time.time() - LEFT_OVER:
            shutil.rmtree(part, ignore_errors=True)


def remove_old(folder: Path, *, keep: int, prefix: str = PREFIX) -> list[Path]:
    """Remove all but the newest ``keep`` backups so named; which they were, the oldest first.

    What lies there under other names stays, also what a restore has put aside.
    """
    removed = backups_in(folder, prefix)[:-keep] if keep > 0 else []
    for path in removed:
        # Renamed first: dying half-way must not leave half a backup under a whole one's name.
        part = folder / f"{PART}old-{path.name}"
        path.rename(part)
        shutil.rmtree(part)
    return removed
