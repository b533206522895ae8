"""What a backup says of itself, and where backups lie."""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from .problems import BackupError

FORMAT = 1
FILE = "manifest.json"
NAME = re.compile(r"[a-z][a-z-]*-\d{8}T\d{6}Z(?:-\d+)?")
FILES = "none: all that a site keeps is in its database"


@dataclass(frozen=True, slots=True)
class Manifest:
    """What stands in ``manifest.json``.

    Parameters
    ----------
    taken_at
        The moment whose data it holds, ISO 8601 in UTC.
    kind, server
        ``sqlite`` or ``postgresql``, and the version of it.
    migrations
        By application the names of those that were applied.
    rows
        By table how many there were.
    file, size, sha256
        The data file's name, bytes and digest.
    checked
        How it was checked when it was made, in words.
    """

    taken_at: str
    program: str
    kind: str
    server: str
    migrations: dict[str, list[str]]
    rows: dict[str, int]
    file: str
    size: int
    sha256: str
    checked: str
    files: str = FILES
    format: int = field(default=FORMAT)

    @property
    def taken(self) -> datetime:
        return datetime.fromisoformat(self.taken_at)

    @property
    def total(self) -> int:
        """Rows of all tables."""
        return sum(self.rows.values())

    def write(self, folder: Path) -> None:
        """Write it into the folder, on the disk when this returns."""
        path = folder / FILE
        text = json.dumps(asdict(self), indent=1, sort_keys=True, ensure_ascii=False)
        with open(path, "w", encoding="utf-8", opener=private) as out:
            out.write(text + "\n")
            out.flush()
            os.fsync(out.fileno())


def read_manifest(folder: Path) -> Manifest:
    """Raises ``BackupError`` if it is missing, damaged or of a later format."""
    path = folder / FILE
    try:
        told: Any = json.loads(path.read_text(encoding="utf-8"))
        if told["format"] > FORMAT:
            raise BackupError(
                f"{path} is of format {told['format']}, made by a newer program; this one reads "
                f"{FORMAT}. Upgrade the program first."
            )
        made = Manifest(**told)
        datetime.fromisoformat(made.taken_at)
        if Path(made.file).name != made.file:
            raise ValueError("the data lie elsewhere")
    except FileNotFoundError:
        raise BackupError(f"There is no {FILE} in {folder}, so it is no whole backup.") from None
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise BackupError(
            f"{path} can't be read ({error}): the backup is damaged. Take another one."
        ) from None
    return made


def find_backup(path: Path) -> Path:
    """The folder of one backup. Raises ``BackupError`` that lists what is there instead."""
    if (path / FILE).is_file():
        return path
    if not path.is_dir():
        raise BackupError(f"There is no folder {path}. Give the folder of one backup.")
    there = [each.name for each in backups_in(path)]
    if there:
        raise BackupError(
            f"{path} holds backups and is none itself. Give one of them, the newest first: "
            + ", ".join(reversed(there))
        )
    raise BackupError(f"There is no {FILE} in {path}, so it is no whole backup.")


def backups_in(folder: Path, prefix: str = "") -> list[Path]:
    """The whole backups in a folder, the oldest first; with a prefix those so named only."""
    found: Iterable[Path] = folder.iterdir() if folder.is_dir() else ()
    return sorted(
        (
            each
            for each in found
            if NAME.fullmatch(each.name)
            and (not prefix or re.fullmatch(rf"{re.escape(prefix)}-\d.*", each.name))
            and (each / FILE).is_file()
        ),
        key=lambda each: each.name.split("-")[-1 if each.name.endswith("Z") else -2] + each.name,
    )


def sha256_of(path: Path) -> str:
    """The digest of a file, as 64 hexadecimal digits."""
    with path.open("rb") as data:
        return hashlib.file_digest(data, "sha256").hexdigest()


def private(path: str, flags: int) -> int:
    """An opener: a backup holds personal data, so only its owner may read it."""
    return os.open(path, flags, 0o600)


def sync(path: Path) -> None:
    """Wait until a file, or the names in a folder, are on the disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
