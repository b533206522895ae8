"""What each kind of database must be able to do to be backed up."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.db import connections

from .problems import BackupError


@dataclass(frozen=True, slots=True)
class Held:
    """What a copy holds: applied migrations by application, rows by table."""

    migrations: dict[str, list[str]]
    rows: dict[str, int]


class Kind(ABC):
    """A database that can be copied while people write, checked, and put back."""

    name: str
    words: str
    file: str

    def __init__(self, connection: Any) -> None:
        self.connection = connection

    @abstractmethod
    def server(self) -> str:
        """The version of the database's program."""

    @abstractmethod
    def dump(self, path: Path) -> Held:
        """Write one consistent state to a new file, and say what is in it."""

    @abstractmethod
    def check(self, path: Path, rows: dict[str, int], *, fully: bool) -> str:
        """Read the copy and compare; in words how. Raises ``BackupError``."""

    @abstractmethod
    def restore(self, path: Path, also: Sequence[str]) -> None:
        """Put a copy in the place of what is there, with some more statements: all of it in
        one transaction, or nothing."""


def by_app(found: Sequence[tuple[str, str]]) -> dict[str, list[str]]:
    """Applied migrations by application."""
    listed: dict[str, list[str]] = {}
    for app, name in sorted(found):
        listed.setdefault(app, []).append(name)
    return listed


def compare(told: dict[str, int], found: dict[str, int]) -> None:
    """Raises ``BackupError`` where a copy holds other rows than its manifest says."""
    wrong = [
        f"{table}: {found.get(table, 'no table')} for {told.get(table, 'none')}"
        for table in sorted({*told, *found})
        if told.get(table) != found.get(table)
    ]
    if wrong:
        raise BackupError("The copy holds other rows than it should: " + "; ".join(wrong[:5]))


def kind_of(alias: str = "default") -> Kind:
    """How the database in use is backed up."""
    from .postgresql import PostgreSQL
    from .sqlite import SQLite

    connection = connections[alias]
    kinds: dict[str, type[Kind]] = {"sqlite": SQLite, "postgresql": PostgreSQL}
    if connection.vendor not in kinds:
        raise BackupError(f"There is no way here to back up {connection.vendor}.")
    return kinds[connection.vendor](connection)
