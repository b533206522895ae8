"""Which releases there were, and where the migrations of each ended."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

LIST = Path(__file__).with_name("releases.toml")


@dataclass(frozen=True, slots=True)
class Release:
    """``last`` is the last migration of each application, by its label."""

    name: str
    last: dict[str, str]


@lru_cache(maxsize=1)
def releases() -> tuple[Release, ...]:
    """All of them, the oldest first."""
    listed = tomllib.loads(LIST.read_text(encoding="utf-8"))["release"]
    return tuple(Release(each["name"], dict(each["last"])) for each in listed)


def latest() -> Release:
    """The release that sites run by now; what is here goes on from it."""
    return releases()[-1]
