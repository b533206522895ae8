"""A release's data as a file: rows of each table, kind-neutral and packed."""

from __future__ import annotations

import json
import lzma
from contextlib import nullcontext
from pathlib import Path
from typing import Any

from django.apps.registry import Apps
from django.db import connection, transaction

from gymsite.backups import rows

FOLDER = Path(__file__).parent


def path_of(release: str) -> Path:
    return FOLDER / f"{release}.json.xz"


def save(release: str, apps: Apps) -> dict[str, int]:
    """Write what the database holds. Answers rows by table."""
    told: dict[str, Any] = {}
    for model in rows.tables(apps):
        found = [[rows.plain(value) for value in row] for row in rows.read(model)]
        told[model._meta.db_table] = {"columns": rows.columns(model), "rows": found}
    packed = lzma.compress(json.dumps(told, sort_keys=True).encode(), preset=9)
    path_of(release).write_bytes(packed)
    return {table: len(each["rows"]) for table, each in told.items()}


def load(release: str, apps: Apps, *, has_triggers: bool) -> None:
    """Fill a database by the models of a release.

    Rows that migrating made by itself (kinds of content, permissions) give way first. With
    ``has_triggers`` they do their work, as on rows from a server that knows nothing of them;
    else the rows hold what they did at that release.
    """
    told = json.loads(lzma.decompress(path_of(release).read_bytes()))
    models = rows.tables(apps)
    with transaction.atomic():
        with connection.cursor() as cursor:
            for table in ("auth_permission", "django_content_type"):
                cursor.execute(f"DELETE FROM {table}")
        with nullcontext() if has_triggers else rows.without_triggers(models):
            for model in models:
                _fill(model, told[model._meta.db_table])
        rows.count_on(models)


def _fill(model: rows.Model, told: dict[str, Any]) -> None:
    fields = {field.attname: field for field in model._meta.concrete_fields}
    assert set(told["columns"]) == set(fields), model
    places = [(fields[name], told["columns"].index(name)) for name in rows.columns(model)]
    rows.write(model, ([rows.unplain(f, row[at]) for f, at in places] for row in told["rows"]))
