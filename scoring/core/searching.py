"""Finding a workout again: what of it is looked for, and words folded for looking."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

from . import catalogue
from .movements import Pattern
from .names import FOLDED, plain
from .prescription import BlockKind, Workout

INDEX_VERSION = 1
"""Raised when ``look_up`` would find something else, so that what is kept is made anew."""

BAR = "|"
"""Stands around each name in a list of names, so that ``row`` is not found in ``row erg``."""


@dataclass(frozen=True, slots=True)
class LookUp:
    """What a workout is found by. ``movements`` are names as the catalogue writes them,
    options too; ``patterns`` those of the movements as prescribed; ``seconds`` is when the
    clock stops, ``None`` where there is none."""

    movements: tuple[str, ...]
    patterns: tuple[Pattern, ...]
    seconds: int | None


def look_up(workout: Workout) -> LookUp:
    """What a workout is found by, in the order written; patterns in their own."""
    movements: dict[str, None] = {}
    patterns: set[Pattern] = set()
    for block in workout.blocks:
        for line in block.lines:
            for name in (line.movement, *(option.movement for option in line.options)):
                movements[catalogue.canonical(name)] = None
            known = catalogue.find(line.movement)
            if known and block.scored and block.kind is not BlockKind.REST:
                patterns.add(known.pattern)
    return LookUp(tuple(movements), tuple(p for p in Pattern if p in patterns), workout.time_limit)


def folded(text: str) -> str:
    """One line in lower case without accents and double spaces: ``Café  Tide`` is ``cafe
    tide``."""
    parts = unicodedata.normalize("NFKD", plain(text).translate(FOLDED)).casefold()
    return " ".join("".join(c for c in parts if not unicodedata.combining(c)).split())


def barred(names: tuple[str, ...]) -> str:
    """Names as one text in which each can be looked for whole."""
    return BAR + BAR.join(names) + BAR if names else ""


def sought(name: str) -> str:
    """What to look for in ``barred`` names: a name of the catalogue whole, whatever its
    spelling; one that it doesn't know by its beginning, without the ``s`` of a plural."""
    if catalogue.find(name):
        return f"{BAR}{catalogue.canonical(name)}{BAR}"
    tidy = catalogue.canonical(name)
    return BAR + (tidy[:-1] if len(tidy) > 3 and tidy.endswith("s") else tidy)
