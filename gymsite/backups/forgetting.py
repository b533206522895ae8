"""Forgetting what is kept beside the database: the cache, and boards in Redis."""

from __future__ import annotations

import redis
from django.conf import settings
from django.core.cache import cache
from django.core.management import call_command
from redis.exceptions import RedisError

# Glob signs that a prefix could hold.
_GLOB = str.maketrans({sign: f"\\{sign}" for sign in "*?[]\\"})


def forget_all() -> str:
    """Forget all of it; empty, or what could not be.

    Only keys under the site's own prefix: others may use the same Redis, and Django's way to
    clear a Redis cache would take theirs, and the broker's queue, along.
    """
    if not settings.REDIS_URL:
        call_command("createcachetable", verbosity=0)
        cache.clear()
        return ""
    try:
        client = redis.Redis.from_url(settings.REDIS_URL, socket_connect_timeout=2)
        prefix = settings.REDIS_PREFIX.translate(_GLOB)
        for key in client.scan_iter(f"{prefix}:*", count=1000):
            client.delete(key)
    except RedisError as error:
        return (
            f"Redis did not answer ({type(error).__name__}): boards are derived anew by their "
            "new version all the same, counts of limits go on."
        )
    return ""
