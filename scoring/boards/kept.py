"""What Redis keeps of one class's board, read as it is: nothing is derived or changed.

Each method raises ``RedisError`` where Redis does not answer.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from .base import VIEWS, View

CHUNK = 1_000


class KeptBoard:
    """``names`` are the keys of the version, of what is remembered by result, and of each view's
    sorted set."""

    def __init__(self, client: Any, names: Sequence[str]) -> None:
        self._client = client
        self._version, self._remembered, *sets = names
        self._sets: dict[View, str] = dict(zip(VIEWS, sets, strict=True))

    def version(self) -> int | None:
        """The ``board_version`` it reflects; ``None`` where nothing is kept."""
        kept = self._client.get(self._version)
        return None if kept is None else int(kept)

    def members(self, view: View) -> Iterator[str]:
        """A view's entries as they stand in its set, best first."""
        start = 0
        while chunk := self._client.zrange(self._sets[view], start, start + CHUNK - 1):
            yield from chunk
            start += CHUNK

    def counted(self, view: View, prefixes: Sequence[str]) -> tuple[int, list[tuple[int, int]]]:
        """How many entries a view has, and of each pair of keys, as the text its entries begin
        with, how many stand before it and how many on it."""
        look = self._client.pipeline(transaction=True)
        look.zcard(self._sets[view])
        for prefix in prefixes:
            look.zlexcount(self._sets[view], "-", f"({prefix}")
            # A colon follows the keys in each entry, and a semicolon is the next byte.
            look.zlexcount(self._sets[view], f"[{prefix}:", f"({prefix};")
        total, *counts = map(int, look.execute())
        return total, list(zip(counts[::2], counts[1::2], strict=True))

    def remembered(self, result_ids: Sequence[int]) -> list[str | None]:
        """The entry that is remembered of each result, to be replaced by its next."""
        found: list[str | None] = self._client.hmget(self._remembered, [str(i) for i in result_ids])
        return found

    def remembered_count(self) -> int:
        return int(self._client.hlen(self._remembered))
