"""How old the newest backup is, by what it says of itself."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

from django.conf import settings

LOOKED_AT = 50
"""Backups looked at, the newest first: one that is whole is soon found."""


def backup_age(now: datetime) -> float | None:
    """Seconds from the moment whose data the newest backup holds; infinite if there is none,
    ``None`` where no ``BACKUP_FOLDER`` is set."""
    if not settings.BACKUP_FOLDER:
        return None
    taken = [
        moment
        for file in sorted(
            Path(settings.BACKUP_FOLDER).glob("*/manifest.json"),
            key=lambda file: file.stat().st_mtime,
            reverse=True,
        )[:LOOKED_AT]
        if (moment := _taken_at(file)) is not None
    ]
    return max(0.0, (now - max(taken)).total_seconds()) if taken else float("inf")


def _taken_at(manifest: Path) -> datetime | None:
    try:
        taken = datetime.fromisoformat(json.loads(manifest.read_text(encoding="utf-8"))["taken_at"])
    except (OSError, ValueError, KeyError, TypeError):
        return None  # not whole, so it doesn't count
    return taken if taken.tzinfo else None
