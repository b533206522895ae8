"""What tests of backups ask of a database."""

import json

from django.apps import apps

from gymsite.backups import rows
from gymsite.backups.manifest import backups_in

# What a restore changes on purpose: see scoring/management/commands/restore.py.
SETTLED = {
    "django_session", "knox_authtoken", "members_auditentry", "scoring_message",
    "scoring_streamedclass", "scoring_followupletter",
}  # fmt: skip


def digests(place, *, without=()):
    """By table how many rows it has and a digest of all they hold."""
    found = {
        model._meta.db_table: rows.digest(model, place.alias)
        for model in rows.tables(apps)
        if model._meta.db_table not in without
    }
    place.forget()
    return found


def objects(place, model):
    return model._base_manager.using(place.alias)


def backup(place, *args, folder="backups"):
    """Make one; its folder."""
    place.forget()
    place.manage("backup", place.folder / folder, *args)
    return backups_in(place.folder / folder, "board")[-1]


def rewrite(path, **fields):
    """Change what a manifest says."""
    told = json.loads((path / "manifest.json").read_text())
    (path / "manifest.json").write_text(json.dumps(told | fields))
