"""Board stores: where a rank among many is counted."""

from functools import lru_cache

from django.conf import settings

from .base import VIEWS, BoardStore, Pair, Spot, Standing, Standings, View
from .database import DatabaseBoards
from .redis import RedisBoards

__all__ = [
    "VIEWS",
    "BoardStore",
    "DatabaseBoards",
    "Pair",
    "RedisBoards",
    "Spot",
    "Standing",
    "Standings",
    "View",
    "store",
]


@lru_cache(maxsize=1)
def _redis(url: str, prefix: str) -> RedisBoards:
    return RedisBoards(url, prefix=prefix)


def store() -> BoardStore:
    """The store the environment chose: Redis where there is a REDIS_URL."""
    if settings.REDIS_URL:
        return _redis(settings.REDIS_URL, settings.REDIS_PREFIX)
    return DatabaseBoards()
