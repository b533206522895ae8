"""Pieces of gear: what the catalogue's phrases ask for, and what a member says they have.

The catalogue writes gear as people say it: ``dumbbell, kettlebell or barbell`` is any one
of three. Here such a phrase becomes pieces that a member can tick.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from enum import StrEnum
from functools import lru_cache

from . import catalogue


class Group(StrEnum):
    """Where a piece stands in a list to choose from."""

    WEIGHTS = "weights"
    FRAMES = "bars, boxes and benches"
    MACHINES = "machines"
    SMALL = "small gear"
    HOUSEHOLD = "in most homes"


PIECES: dict[str, Group] = {
    "dumbbell": Group.WEIGHTS,
    "two dumbbells": Group.WEIGHTS,
    "kettlebell": Group.WEIGHTS,
    "two kettlebells": Group.WEIGHTS,
    "barbell": Group.WEIGHTS,
    "plates": Group.WEIGHTS,
    "heavy ball": Group.WEIGHTS,
    "sandbag": Group.WEIGHTS,
    "pull-up bar": Group.FRAMES,
    "low bar": Group.FRAMES,
    "rings or straps": Group.FRAMES,
    "dip bars": Group.FRAMES,
    "rack": Group.FRAMES,
    "bench": Group.FRAMES,
    "box": Group.FRAMES,
    "rowing machine": Group.MACHINES,
    "exercise bike": Group.MACHINES,
    "air bike": Group.MACHINES,
    "ski machine": Group.MACHINES,
    "treadmill": Group.MACHINES,
    "cross-trainer": Group.MACHINES,
    "stepper": Group.MACHINES,
    "band": Group.SMALL,
    "skipping rope": Group.SMALL,
    "wheel": Group.SMALL,
    "heavy rope": Group.SMALL,
    "sliders": Group.SMALL,
    "mat": Group.SMALL,
    "anchor": Group.SMALL,
    "wall": Group.HOUSEHOLD,
    "chair": Group.HOUSEHOLD,
    "table": Group.HOUSEHOLD,
    "sofa": Group.HOUSEHOLD,
    "stairs": Group.HOUSEHOLD,
    "door": Group.HOUSEHOLD,
    "towel": Group.HOUSEHOLD,
    "stick": Group.HOUSEHOLD,
    "backpack": Group.HOUSEHOLD,
    "books": Group.HOUSEHOLD,
}
"""Every piece there is to tick, in the order to show it."""

HOUSEHOLD = frozenset(piece for piece, group in PIECES.items() if group is Group.HOUSEHOLD)

LOADED = ("dumbbell", "kettlebell", "barbell", "plates", "heavy ball", "sandbag")
"""Pieces that weigh something worth telling."""

_MEANT = {
    "a thick book": "books",
    "blocks": "books",
    "chairs": "chair",
    "dead ball": "heavy ball",
    "door frame": "door",
    "dumbbells": "two dumbbells",
    "filled backpack": "backpack",
    "high anchor": "anchor",
    "kettlebells": "two kettlebells",
    "loaded barbell": "barbell",
    "low anchor": "anchor",
    "low step": "stairs",
    "plate": "plates",
    "rings": "rings or straps",
    "stair": "stairs",
    "straps": "rings or straps",
    "sturdy table": "table",
}
_NOTHING = {"own feet"}
_SPLIT = re.compile(r",? or |, ")


@lru_cache(maxsize=256)
def alternatives(phrase: str) -> frozenset[str]:
    """The pieces of which a phrase asks for one; empty if it asks for none.

    Raises
    ------
    ValueError
        For a word that names no piece.
    """
    found = set()
    for word in _SPLIT.split(phrase):
        if word in _NOTHING:
            return frozenset()
        piece = _MEANT.get(word, word)
        if piece not in PIECES:
            raise ValueError(f"{word!r} is no piece of gear. Add it to PIECES or say what it is.")
        found.add(piece)
    return frozenset(found)


def _with_singles(pieces: Collection[str]) -> frozenset[str]:
    """Who has two of something has one."""
    singles = {"two dumbbells": "dumbbell", "two kettlebells": "kettlebell"}
    return frozenset(pieces) | {one for two, one in singles.items() if two in pieces}


def can_do(movement: str, pieces: Collection[str]) -> bool:
    """Whether the pieces are enough for a movement; one the catalogue doesn't know is."""
    known = catalogue.find(movement)
    if known is None:
        return True
    have = _with_singles(pieces)
    needs = [alternatives(phrase) for phrase in known.gear]
    return all(not need or need & have for need in needs)


def loaded_pieces(movement: str, pieces: Collection[str]) -> frozenset[str]:
    """Which of the pieces would carry the load of a movement; without their number."""
    known = catalogue.find(movement)
    if known is None:
        return frozenset(LOADED) & _with_singles(pieces)
    have = _with_singles(pieces)
    usable = {p for phrase in known.gear for p in alternatives(phrase) & have}
    singles = {p.removeprefix("two ").removesuffix("s") if p[:4] == "two " else p for p in usable}
    return frozenset(LOADED) & singles
