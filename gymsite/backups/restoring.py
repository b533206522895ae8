"""Putting a backup back: checked first, in one transaction, then brought up to the program."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from django.core.management import call_command
from django.db import connections
from django.db.migrations.loader import MigrationLoader

from .kinds import kind_of
from .manifest import Manifest, read_manifest, sha256_of
from .problems import BackupError

NOT_DATA = frozenset(
    ("django_migrations", "django_content_type", "auth_permission", "django_session", "cache")
)
"""Tables that a site without any gym or person may have rows in."""


def check_backup(folder: Path, *, fully: bool = False) -> Manifest:
    """All that can be said of a backup before anything is touched.

    Raises ``BackupError``: damaged, of the other kind of database, or made by a newer program.
    """
    manifest, kind = read_manifest(folder), kind_of()
    if manifest.kind != kind.name:
        raise BackupError(_other_kind(manifest.kind, kind.words))
    if unknown := unknown_migrations(manifest):
        raise BackupError(
            f"The backup was made by a newer program (after release {manifest.program}): it has "
            f"{', '.join(unknown[:3])}, which this one does not know. Upgrade the program first."
        )
    data = folder / manifest.file
    if not data.is_file():
        raise BackupError(f"{data} is missing: the backup is damaged. Take another one.")
    size = data.stat().st_size
    if size != manifest.size:
        raise BackupError(
            f"{data} has {size} bytes and should have {manifest.size}: it was cut off or changed. "
            "Take another backup."
        )
    if sha256_of(data) != manifest.sha256:
        raise BackupError(
            f"{data} is not what was written (another SHA-256 than in its manifest): it is "
            "damaged. Take another backup."
        )
    kind.check(data, manifest.rows, fully=fully)
    return manifest


def _other_kind(told: str, here: str) -> str:
    if told == "sqlite":
        return (
            f"This is a backup of SQLite, and the database in use is {here}. Restore it into an "
            "SQLite file (DATABASE_URL=sqlite:////where/it.sqlite3), then take that to "
            "PostgreSQL with: manage.py move_to postgres://…"
        )
    return (
        f"This is a backup of {told}, and the database in use is {here}. Set DATABASE_URL to a "
        f"database of {told} to restore it."
    )


def unknown_migrations(manifest: Manifest) -> list[str]:
    """Migrations that the backup has and this program does not know."""
    known = set(MigrationLoader(None).disk_migrations)
    replaced = {
        (app, name)
        for migration in MigrationLoader(None, replace_migrations=False).disk_migrations.values()
        for app, name in migration.replaces
    }
    return [
        f"{app}.{name}"
        for app, names in sorted(manifest.migrations.items())
        for name in names
        if (app, name) not in known | replaced
    ]


def holds_data(alias: str = "default") -> bool:
    """Whether the database holds anything that would be lost."""
    connection = connections[alias]
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            if table in NOT_DATA:
                continue
            cursor.execute(f"SELECT 1 FROM {connection.ops.quote_name(table)} LIMIT 1")  # noqa: S608
            if cursor.fetchone():
                return True
    return False


def put_back(folder: Path, manifest: Manifest, *, also: Sequence[str] = ()) -> list[str]:
    """Put a checked backup in the place of what is there, and migrate it.

    ``also`` are statements of the backup's own schema, run in the same transaction. Answers
    which migrations were applied to it.
    """
    kind_of().restore(folder / manifest.file, also)
    connections.close_all()
    before = {(app, name) for app, names in manifest.migrations.items() for name in names}
    call_command("migrate", verbosity=0, interactive=False)
    after = MigrationLoader(connections["default"]).applied_migrations
    return sorted(f"{app}.{name}" for app, name in set(after) - before)
