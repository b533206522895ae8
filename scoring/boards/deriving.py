"""Building a class's sets in Redis anew from its scores, while members go on logging.

One process builds a class at a time. It reads the version and all scores by one statement, so
by one state of the database. What is committed meanwhile is noted in a journal by its version,
and worked in at the end, as far as no version is missing; then the new sets take the old ones'
place in one step. If one was missing after all, readers see an old version and it is built
again.
"""

from __future__ import annotations

import logging
import threading
import uuid
from itertools import islice
from typing import Any

import redis
from django.db import connection
from django.db.models import OuterRef, Subquery
from redis.exceptions import RedisError

from scoring.models import Score, StreamedClass

from .members import names_of, prefix_of

logger = logging.getLogger(__name__)

AT_ONCE = 5_000
"""A class of up to so many is built while its reader waits: a tenth of a second."""
CHUNK = 2_000
BUILD_SECONDS = 60
"""A build that has not gone on for so long has nobody at it, and another may begin."""

# KEYS: members, all, prescribed, scaled, building. ARGV: who builds, seconds, then members with
# a letter in front.
_FILL = """
if redis.call('GET', KEYS[5]) ~= ARGV[1] then return 0 end
redis.call('EXPIRE', KEYS[5], ARGV[2])
for i = 3, #ARGV do
  local view, member = string.sub(ARGV[i], 1, 1), string.sub(ARGV[i], 2)
  redis.call('HSET', KEYS[1], string.sub(member, 42), member)
  redis.call('ZADD', KEYS[2], 0, member)
  redis.call('ZADD', view == 'p' and KEYS[3] or KEYS[4], 0, member)
end
for i = 1, 4 do redis.call('EXPIRE', KEYS[i], 3600) end
return 1
"""

# KEYS: the seven of a class, then the new members, all, prescribed, scaled. ARGV: who builds,
# the version read.
_SWAP = """
if redis.call('GET', KEYS[6]) ~= ARGV[1] then return 0 end
local version = tonumber(ARGV[2])
while true do
  local change = redis.call('HGET', KEYS[7], tostring(version + 1))
  if not change then break end
  version = version + 1
  local result, view, member = string.match(change, '^(%S*) (%S*) (%S*)$')
  if result ~= '' then
    local old = redis.call('HGET', KEYS[8], result)
    if old then
      for i = 9, 11 do redis.call('ZREM', KEYS[i], old) end
      redis.call('HDEL', KEYS[8], result)
    end
    if member ~= '' then
      redis.call('ZADD', KEYS[9], 0, member)
      redis.call('ZADD', view == 'prescribed' and KEYS[10] or KEYS[11], 0, member)
      redis.call('HSET', KEYS[8], result, member)
    end
  end
end
redis.call('UNLINK', KEYS[2], KEYS[3], KEYS[4], KEYS[5])
for i = 8, 11 do
  if redis.call('EXISTS', KEYS[i]) == 1 then
    redis.call('PERSIST', KEYS[i])
    redis.call('RENAME', KEYS[i], KEYS[i - 6])
  end
end
redis.call('SET', KEYS[1], version)
redis.call('DEL', KEYS[6], KEYS[7])
return 1
"""


class Deriver:
    """Builds sets, one at a time for each class."""

    def __init__(self, client: redis.Redis, prefix: str) -> None:
        self._client, self._prefix = client, prefix
        self._fill: Any = client.register_script(_FILL)
        self._swap: Any = client.register_script(_SWAP)
        self.threads: set[threading.Thread] = set()

    def heal(self, class_id: int, *, at_once: bool) -> None:
        """Build a class's sets unless somebody is at it, now or in a thread beside."""
        own = uuid.uuid4().hex
        building = names_of(self._prefix, class_id).all[5]
        if not self._client.set(building, own, nx=True, ex=BUILD_SECONDS):
            return
        logger.info("board of class %s is derived anew", class_id)
        if at_once:
            self.derive(class_id, own)
            return
        thread = threading.Thread(target=self._beside, args=(class_id, own), daemon=True)
        self.threads.add(thread)
        thread.start()

    def _beside(self, class_id: int, own: str) -> None:
        try:
            self.derive(class_id, own)
        except Exception as error:  # readers are answered by the database, and one tries again
            logger.warning("board of class %s not derived: %s", class_id, type(error).__name__)
        finally:
            connection.close()
            self.threads.discard(threading.current_thread())

    def derive(self, class_id: int, own: str) -> None:
        """Fill new sets and swap them in. ``own`` is what the building key holds."""
        names = names_of(self._prefix, class_id).all
        fresh = [f"{name}:new-{own}" for name in names[1:5]]
        version = StreamedClass.objects.filter(pk=OuterRef("streamed_class")).values(
            "board_version"
        )
        rows = Score.objects.filter(streamed_class=class_id).values_list(
            "result_id", "key", "tie_key", "as_prescribed", Subquery(version)
        )
        read: int | None = None
        try:
            left = rows.iterator(chunk_size=CHUNK)
            while chunk := list(islice(left, CHUNK)):
                read = chunk[0][4]
                told = [
                    f"{'p' if as_prescribed else 's'}{prefix_of(key, tie_key)}:{result_id}"
                    for result_id, key, tie_key, as_prescribed, _ in chunk
                ]
                if not self._fill(keys=[*fresh, names[5]], args=[own, BUILD_SECONDS, *told]):
                    return
            if read is None:  # nobody has a score
                read = StreamedClass.objects.values_list("board_version", flat=True).get(
                    pk=class_id
                )
                if Score.objects.filter(streamed_class=class_id).exists():
                    return
            self._swap(keys=[*names, *fresh], args=[own, read])
        finally:
            self._end(fresh, names[5], own)

    def _end(self, fresh: list[str], building: str, own: str) -> None:
        try:
            self._client.unlink(*fresh)
            if self._client.get(building) == own:
                self._client.delete(building)
        except RedisError as error:
            logger.warning("a board's build was left: %s", type(error).__name__)
