"""The board store on Redis: sorted sets compared as bytes, so that 64 bits stay exact.

Redis scores are doubles and would merge neighbouring keys above 2**53. So every entry has
the score 0 and a fixed-width member that sorts best first; ``ZLEXCOUNT`` counts those
before it. One hash field remembers each result's member, so that it can be replaced.

A class's set carries the ``board_version`` it reflects. A write moves it on only from the
version just before its own; a reader that finds another version than the class has, or sets
that don't add up, or another total than the database, derives them anew from the scores. So
a lost or late write can never show a wrong board, and an unreachable Redis only costs time:
the database answers, and for some seconds nobody asks Redis again. It also answers inside a
transaction that has not ended: what that has written may yet be undone, and must not be told
to anybody else.
"""

from __future__ import annotations

import logging
import uuid
from collections.abc import Callable, Collection
from typing import Any

import redis
from django.db import transaction
from redis.exceptions import RedisError

from members.pause import Pause
from scoring.models import Score, StreamedClass

from .base import VIEWS, BoardStore, Pair, Standing, Standings, View
from .database import DatabaseBoards, entries
from .kept import KeptBoard

logger = logging.getLogger(__name__)

_WIDTH = 20
_OFFSET = 2**63
CHUNK = 5_000

# KEYS: version, members, all, prescribed, scaled. ARGV: version, result id, member (empty
# to remove), view ("prescribed" or "scaled").
_CHANGE = """
if redis.call('GET', KEYS[1]) ~= tostring(tonumber(ARGV[1]) - 1) then return 0 end
local old = redis.call('HGET', KEYS[2], ARGV[2])
if old then
  for i = 3, 5 do redis.call('ZREM', KEYS[i], old) end
  redis.call('HDEL', KEYS[2], ARGV[2])
end
if ARGV[3] ~= '' then
  redis.call('ZADD', KEYS[3], 0, ARGV[3])
  redis.call('ZADD', ARGV[4] == 'prescribed' and KEYS[4] or KEYS[5], 0, ARGV[3])
  redis.call('HSET', KEYS[2], ARGV[2], ARGV[3])
end
redis.call('SET', KEYS[1], ARGV[1])
return 1
"""


def prefix_of(key: int, tie_key: int) -> str:
    """Fixed-width text that sorts best first as bytes: greater key, then smaller tie key."""
    return f"{_OFFSET - 1 - key:0{_WIDTH}d}{_OFFSET + tie_key:0{_WIDTH}d}"


def _is_settled() -> bool:
    """Whether all that this connection sees is committed."""
    try:
        with transaction.atomic(durable=True):
            return True
    except RuntimeError:  # Django's word for: inside another transaction
        return False


class RedisBoards(BoardStore):
    """Ranks in O(log n), whatever the size of the class."""

    def __init__(self, url: str, *, prefix: str = "gym") -> None:
        self._client: redis.Redis = redis.Redis.from_url(
            url, decode_responses=True, socket_timeout=2, socket_connect_timeout=1
        )
        self._prefix = prefix
        self._change: Any = self._client.register_script(_CHANGE)
        self._database = DatabaseBoards()
        self._pause = Pause()

    def _keys(self, class_id: int, suffix: str = "") -> list[str]:
        base = f"{self._prefix}:board:{{{class_id}}}:"
        return [base + name + suffix for name in ("version", "members", *VIEWS)]

    def kept(self, streamed_class_id: int) -> KeptBoard:
        """What is kept of a class, to be looked at as it is."""
        return KeptBoard(self._client, self._keys(streamed_class_id))

    def put(self, score: Score, *, version: int) -> None:
        """Take in a committed score."""
        member = f"{prefix_of(score.key, score.tie_key)}:{score.result_id}"
        view = "prescribed" if score.as_prescribed else "scaled"
        self._write(score, version, member, view)

    def remove(self, score: Score, *, version: int) -> None:
        """Take a deleted score out."""
        self._write(score, version, "", "")

    def _write(self, score: Score, version: int, member: str, view: str) -> None:
        if self._pause.is_on:
            return  # as below
        try:
            self._change(
                keys=self._keys(score.streamed_class_id),
                args=[version, score.result_id, member, view],
            )
        except RedisError as error:
            # The next reader sees the old version and derives the set anew.
            self._pause.begin()
            logger.warning("board store did not take a score: %s", type(error).__name__)

    def forget(self, streamed_class_id: int) -> None:
        """Drop what is kept of a class."""
        try:
            self._client.delete(*self._keys(streamed_class_id))
        except RedisError as error:
            logger.warning("board store did not forget: %s", type(error).__name__)

    def standings(
        self, streamed_class: StreamedClass, pairs: Collection[Pair], view: View
    ) -> Standings:
        """All counts in one round trip."""
        listed = list(dict.fromkeys(pairs))
        there = entries(streamed_class.pk, view).count()
        kept = self._read(
            streamed_class,
            lambda keys: self._counted(keys[view], listed),
            lambda: self._database.standings(streamed_class, listed, view),
        )
        if kept.total == there:
            return kept
        version = StreamedClass.objects.values_list("board_version", flat=True)
        if version.get(pk=streamed_class.pk) == streamed_class.board_version:
            # Rows came or went without a new version, as when data are restored; else one
            # was written just now, between the two counts.
            logger.warning("board store of class %s was out of step", streamed_class.pk)
            self.forget(streamed_class.pk)
        return self._database.standings(streamed_class, listed, view)

    def _counted(self, name: str, listed: list[Pair]) -> Standings:
        look = self._client.pipeline(transaction=True)
        look.zcard(name)
        for pair in listed:
            member = prefix_of(*pair)
            look.zlexcount(name, "-", f"({member}")
            # A colon follows the keys in each member, and a semicolon is the next byte.
            look.zlexcount(name, f"[{member}:", f"({member};")
        total, *counts = look.execute()
        places = zip(counts[::2], counts[1::2], strict=True)
        return Standings(
            int(total),
            {
                pair: Standing(1 + int(better), int(equal))
                for pair, (better, equal) in zip(listed, places, strict=True)
            },
        )

    def _read(
        self,
        streamed_class: StreamedClass,
        ask: Callable[[dict[View, str]], Standings],
        instead: Callable[[], Standings],
    ) -> Standings:
        if self._pause.is_on:
            return instead()
        version, _, *sets = self._keys(streamed_class.pk)
        try:
            look = self._client.pipeline(transaction=True)
            look.get(version)
            for name in sets:
                look.zcard(name)
            kept, everybody, *parts = look.execute()
            if kept != str(streamed_class.board_version) or everybody != sum(parts):
                if not _is_settled():
                    return instead()
                self._derive(streamed_class)
            return ask(dict(zip(VIEWS, sets, strict=True)))
        except RedisError as error:
            self._pause.begin()
            logger.warning("board store unreachable, asking the database: %s", type(error).__name__)
            return instead()

    def _derive(self, streamed_class: StreamedClass) -> None:
        """Build a class's sets from its scores beside the old ones and swap them in.

        The version is read before the scores: what is committed in between is in the set
        already when its own write comes or is skipped, never missing from it.
        """
        version = StreamedClass.objects.values_list("board_version", flat=True).get(
            pk=streamed_class.pk
        )
        keys = self._keys(streamed_class.pk)
        fresh = self._keys(streamed_class.pk, f":new-{uuid.uuid4().hex}")
        self._client.delete(*fresh)
        rows = entries(streamed_class.pk, "all").values_list(
            "result_id", "key", "tie_key", "as_prescribed"
        )
        pipe = self._client.pipeline(transaction=False)
        for number, (result_id, key, tie_key, as_prescribed) in enumerate(
            rows.iterator(chunk_size=CHUNK), start=1
        ):
            member = f"{prefix_of(key, tie_key)}:{result_id}"
            pipe.hset(fresh[1], str(result_id), member)
            pipe.zadd(fresh[2], {member: 0})
            pipe.zadd(fresh[3] if as_prescribed else fresh[4], {member: 0})
            if number % CHUNK == 0:
                pipe.execute()
        pipe.execute()
        swap = self._client.pipeline(transaction=True)
        swap.delete(*keys)
        for new, key_name in zip(fresh[1:], keys[1:], strict=True):
            if self._client.exists(new):
                swap.rename(new, key_name)
        swap.set(keys[0], version)
        swap.execute()
