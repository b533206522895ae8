"""The board store on Redis: sorted sets compared as bytes, so that 64 bits stay exact.

Redis scores are doubles and would merge neighbouring keys above 2**53. So every entry has
the score 0 and a fixed-width member that sorts best first; ``ZLEXCOUNT`` counts those
before it. One hash field remembers each result's member, so that it can be replaced.

A class's set carries the ``board_version`` it reflects. A write moves it on only from the
version just before its own. A reader asks by one script, which answers only if the sets have
the version of the class as the reader read it, and the view asked for has as many entries as
the class's own counters say: a lost or late write can never show a wrong board, and rows that
came or went without a version are noticed. Whenever the sets do not answer, or Redis can't be
reached, the database does, which costs little more (for some seconds nobody then asks Redis
again); a set that is behind is built anew, at once where it is small and beside the answers where
it is large (``deriving.py``). The database also answers inside a transaction that has not ended:
what that has written may yet be undone, and must not be told to anybody else.
"""

from __future__ import annotations

import logging
from collections.abc import Collection
from typing import Any

import redis
from django.db import transaction
from redis.exceptions import NoScriptError, RedisError

from members.pause import Pause
from scoring.models import Score, StreamedClass

from .base import BoardStore, Pair, Spot, Standing, Standings, View
from .database import DatabaseBoards
from .deriving import AT_ONCE, Deriver
from .kept import KeptBoard
from .members import WIDTH, Names, names_of, pair_of, prefix_of

logger = logging.getLogger(__name__)

# KEYS: version, members, all, prescribed, scaled, building, journal. ARGV: version, result id
# (empty where no score changed), member (empty to remove), view ("prescribed" or "scaled").
_CHANGE = """
if redis.call('EXISTS', KEYS[6]) == 1 then
  redis.call('HSET', KEYS[7], ARGV[1], table.concat({ARGV[2], ARGV[4], ARGV[3]}, ' '))
  redis.call('EXPIRE', KEYS[7], 3600)
end
if redis.call('GET', KEYS[1]) ~= tostring(tonumber(ARGV[1]) - 1) then return 0 end
if ARGV[2] ~= '' then
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
end
redis.call('SET', KEYS[1], ARGV[1])
return 1
"""

# KEYS: version, the view's set. ARGV: version, how many entries the view has; then what is asked.
_IN_STEP = """
if redis.call('GET', KEYS[1]) ~= ARGV[1] then return false end
local total = redis.call('ZCARD', KEYS[2])
if total ~= tonumber(ARGV[2]) then return false end
"""

# Then the pairs, as texts. A colon follows the keys in each member, and a semicolon is the next
# byte.
_COUNT = (
    _IN_STEP
    + """
local told, set = {total}, KEYS[2]
for i = 3, #ARGV do
  local pair = ARGV[i]
  told[#told + 1] = redis.call('ZLEXCOUNT', set, '-', '(' .. pair)
  told[#told + 1] = redis.call('ZLEXCOUNT', set, '[' .. pair .. ':', '(' .. pair .. ';')
end
return told
"""
)

# Then the place, and how long a pair's text is.
_SPOT = (
    _IN_STEP
    + """
local found = redis.call('ZRANGE', KEYS[2], ARGV[3], ARGV[3])
if not found[1] then return {} end
local pair = string.sub(found[1], 1, tonumber(ARGV[4]))
return {pair, redis.call('ZLEXCOUNT', KEYS[2], '-', '(' .. pair)}
"""
)


def _is_settled() -> bool:
    """Whether all that this connection sees is committed."""
    try:
        with transaction.atomic(durable=True):
            return True
    except RuntimeError:  # Django's word for: inside another transaction
        return False


class RedisBoards(BoardStore):
    """Ranks in O(log n) and one round trip, whatever the size of the class."""

    def __init__(self, url: str, *, prefix: str = "gym") -> None:
        self._client: redis.Redis = redis.Redis.from_url(
            url, decode_responses=True, socket_timeout=2, socket_connect_timeout=1
        )
        self._prefix = prefix
        self._change: Any = self._client.register_script(_CHANGE)
        self._count: Any = self._client.register_script(_COUNT)
        self._spot: Any = self._client.register_script(_SPOT)
        self._database = DatabaseBoards()
        self._pause = Pause()
        self._deriver = Deriver(self._client, prefix)

    def _names(self, class_id: int) -> Names:
        return names_of(self._prefix, class_id)

    def kept(self, streamed_class_id: int) -> KeptBoard:
        """What is kept of a class, to be looked at as it is."""
        return KeptBoard(self._client, self._names(streamed_class_id).sets)

    def put(self, score: Score, *, version: int) -> None:
        """Take in a committed score."""
        member = f"{prefix_of(score.key, score.tie_key)}:{score.result_id}"
        view = "prescribed" if score.as_prescribed else "scaled"
        self._write(score.streamed_class_id, version, score.result_id, member, view)

    def remove(self, score: Score, *, version: int) -> None:
        """Take a deleted score out."""
        self._write(score.streamed_class_id, version, score.result_id, "", "")

    def moved_on(self, streamed_class_id: int, *, version: int) -> None:
        """Every entry stays where it is."""
        self._write(streamed_class_id, version, "", "", "")

    def _write(
        self, class_id: int, version: int, result: int | str, member: str, view: str
    ) -> None:
        if self._pause.is_on:
            return  # as below
        try:
            self._change(keys=self._names(class_id).all, args=[version, result, member, view])
        except RedisError as error:
            # The next reader sees the old version and has the set derived anew.
            self._pause.begin()
            logger.warning("board store did not take a score: %s", type(error).__name__)

    def forget(self, streamed_class_id: int) -> None:
        """Drop what is kept of a class, in the server's own time where it is much."""
        try:
            self._client.unlink(*self._names(streamed_class_id).sets)
        except RedisError as error:
            logger.warning("board store did not forget: %s", type(error).__name__)

    def standings(
        self, streamed_class: StreamedClass, pairs: Collection[Pair], view: View
    ) -> Standings:
        """All counts in one round trip."""
        listed = list(dict.fromkeys(pairs))
        told = self._asked(self._count, streamed_class, view, [prefix_of(*p) for p in listed])
        if told is None:
            return self._database.standings(streamed_class, listed, view)
        total, *counts = told
        places = zip(listed, counts[::2], counts[1::2], strict=True)
        return Standings(
            total, {pair: Standing(1 + better, equal) for pair, better, equal in places}
        )

    def spot(self, streamed_class: StreamedClass, place: int, view: View) -> Spot | None:
        """By its index in the sorted set."""
        told = self._asked(self._spot, streamed_class, view, [place, 2 * WIDTH])
        if told is None:
            return self._database.spot(streamed_class, place, view)
        return Spot(pair_of(told[0]), told[1]) if told else None

    def _asked(
        self, script: Any, streamed_class: StreamedClass, view: View, asked: list[Any]
    ) -> Any:
        """What a script tells of a set in step with the class; ``None`` if it is not."""
        if self._pause.is_on:
            return None
        names = self._names(streamed_class.pk)
        keys = (names.version, names.views[view])
        known = (
            streamed_class.board_version,
            streamed_class.board_entries,
            streamed_class.board_prescribed,
        )
        try:
            told = self._run(script, keys, (known[0], _total(known, view), *asked))
            if told is not None:
                return told
            # Perhaps the class was read before the latest result: ask by what it says now.
            now = (
                StreamedClass.objects.filter(pk=streamed_class.pk)
                .values_list("board_version", "board_entries", "board_prescribed")
                .first()
            )
            if now is None:
                return None
            if now != known:
                told = self._run(script, keys, (now[0], _total(now, view), *asked))
            if told is None and _is_settled():
                self._deriver.heal(streamed_class.pk, at_once=now[1] <= AT_ONCE)
            return told
        except RedisError as error:
            self._pause.begin()
            logger.warning("board store unreachable, asking the database: %s", type(error).__name__)
            return None

    def _run(self, script: Any, keys: tuple[str, str], args: tuple[Any, ...]) -> Any:
        """Run a script that the server most likely has: its client's own way takes longer than
        the server does."""
        try:
            return self._client.evalsha(script.sha, 2, *keys, *args)
        except NoScriptError:
            return script(keys=keys, args=args)


def _total(counted: tuple[int, int, int], view: View) -> int:
    """Entries of a view, from a class's version and counters."""
    _, entries, prescribed = counted
    if view == "all":
        return entries
    return prescribed if view == "prescribed" else entries - prescribed
