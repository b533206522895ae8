"""How the Redis store names its keys and writes an entry as text."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from .base import VIEWS, Pair, View

WIDTH = 20
"""Digits of one key; an entry begins with two of them."""
_OFFSET = 2**63


def prefix_of(key: int, tie_key: int) -> str:
    """Fixed-width text that sorts best first as bytes: greater key, then smaller tie key."""
    return f"{_OFFSET - 1 - key:0{WIDTH}d}{_OFFSET + tie_key:0{WIDTH}d}"


def pair_of(prefix: str) -> Pair:
    """What ``prefix_of`` wrote."""
    return _OFFSET - 1 - int(prefix[:WIDTH]), int(prefix[WIDTH:]) - _OFFSET


@dataclass(frozen=True, slots=True)
class Names:
    """Keys of one class."""

    version: str
    views: dict[View, str]
    sets: list[str]
    """Version, each result's member, and the sets of the views."""
    all: list[str]
    """``sets``, who is building them, and what was written meanwhile."""


@lru_cache(maxsize=4096)
def names_of(prefix: str, class_id: int) -> Names:
    """The braces keep a class's keys on one server of a cluster."""
    base = f"{prefix}:board:{{{class_id}}}:"
    version, members, *views = (base + name for name in ("version", "members", *VIEWS))
    sets = [version, members, *views]
    return Names(
        version,
        dict(zip(VIEWS, views, strict=True)),
        sets,
        [*sets, base + "building", base + "journal"],
    )
