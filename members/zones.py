"""Time zones to choose from: those named after a place, and UTC."""

from __future__ import annotations

import zoneinfo
from functools import cache
from itertools import groupby

AREAS = (
    "Africa",
    "America",
    "Antarctica",
    "Arctic",
    "Asia",
    "Atlantic",
    "Australia",
    "Europe",
    "Indian",
    "Pacific",
)


@cache
def names() -> tuple[str, ...]:
    """Every name offered, in order; abbreviations and fixed offsets are left out."""
    known = zoneinfo.available_timezones()
    return (*sorted(n for n in known if n.partition("/")[0] in AREAS and "/" in n), "UTC")


def grouped(chosen: str = "") -> list[tuple[str, list[str]]]:
    """The names by area, as a select shows them, with ``chosen`` whatever it is called."""
    offered = sorted({*names(), *([chosen] if chosen else [])})
    by_area: dict[str, list[str]] = {}
    for area, found in groupby(offered, key=_area):
        by_area.setdefault(area, []).extend(found)
    return sorted(by_area.items(), key=lambda group: (group[0] == "Other", group[0]))


def _area(name: str) -> str:
    area, slash, _ = name.partition("/")
    return area if slash else "Other"
