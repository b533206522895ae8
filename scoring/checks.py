"""What must hold where the site runs; ``manage.py check`` says so before members do."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.checks import CheckMessage, Error, Warning, register
from django.db import connections


@register("scoring")
def board_store_address(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    """REDIS_URL is empty or an address that the Redis client takes."""
    url = settings.REDIS_URL
    if not url or urlsplit(url).scheme in ("redis", "rediss", "unix"):
        return []
    return [
        Error(
            "REDIS_URL is no address of a Redis server.",
            hint="Write redis://host:6379/0, or leave it empty to do without.",
            id="scoring.E001",
        )
    ]


@register("scoring")
def writers_queue_up(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    """On SQLite a transaction takes its lock when it begins, or two writers can fail."""
    connection = connections["default"]
    if connection.vendor != "sqlite":
        return []
    if connection.settings_dict.get("OPTIONS", {}).get("transaction_mode") == "IMMEDIATE":
        return []
    return [
        Error(
            "Results sent at the same moment would fail with “database is locked”.",
            hint='Set OPTIONS["transaction_mode"] = "IMMEDIATE" for SQLite.',
            id="scoring.E002",
        )
    ]


@register("scoring")
def work_has_somewhere_to_go(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    """Background work runs at once, or there is a broker to hand it to."""
    if settings.CELERY_TASK_ALWAYS_EAGER or settings.CELERY_BROKER_URL:
        return []
    return [
        Warning(
            "Background work has no broker and is not run at once: it would be lost.",
            hint="Set CELERY_BROKER_URL, or CELERY_TASK_ALWAYS_EAGER.",
            id="scoring.W001",
        )
    ]
