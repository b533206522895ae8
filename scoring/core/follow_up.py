"""Whom a coach should have a word with, and why: the rules, on plain figures.

Every rule errs towards saying nothing: a coach has ten minutes, and a list that cries out
for no reason is not read. Thresholds without another source: common practice, no source.
"""

from __future__ import annotations

import enum
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from . import catalogue
from .body import AREAS
from .catalogue import Pattern


class Reason(enum.StrEnum):
    """Why somebody is on the list; the most careful first, which is the order of the list."""

    PAIN = "pain"
    EFFORT = "effort"
    FALLING = "falling"
    BACK = "back"
    FIRST = "first"
    MISSED = "missed"
    SILENT = "silent"
    OPTION = "option"
    BEST = "best"

    @property
    def label(self) -> str:
        """What a page calls it."""
        return LABELS[self]

    @property
    def rank(self) -> int:
        """0 is to be cared for first."""
        return _ORDER[self]


LABELS = {
    Reason.PAIN: "something hurts",
    Reason.EFFORT: "effort of 10",
    Reason.FALLING: "slower three classes in a row",
    Reason.BACK: "back after a break",
    Reason.FIRST: "first class",
    Reason.MISSED: "not logged, though usually there",
    Reason.SILENT: "nothing logged for a while",
    Reason.OPTION: "could try a harder version",
    Reason.BEST: "a new best",
}
_ORDER = {reason: number for number, reason in enumerate(Reason)}

AWAY_DAYS = 21
HELD_MEANWHILE = 2
"""Classes that must have been held for a break to be the member's, not the gym's."""

SILENT_DAYS = 14
SILENT_AT_LEAST, SILENT_AT_MOST = 3, 90
FORGOTTEN_DAYS = 182
"""Who logged nothing for half a year has left in all but name, and is listed no more."""

MOST_EFFORT = 10
FALLS = 3
LEAST_FALL = 5
"""Points of the index that a fall is of at least, from the first figure to the last."""

EASY_EFFORT = 6
USES = 4
FIELD = 6
"""Results in a class of fewer say too little of who is in its top third."""

PAIN_DAYS = 42
"""How long a pain keeps harder versions for its part of the body off the list."""


@dataclass(frozen=True, slots=True)
class Point:
    """A result: pace as a percentage of the class's middle, and the effort that was told."""

    index: int
    effort: int | None


def is_falling(points: Sequence[Point]) -> bool:
    """Whether pace against the class fell three classes in a row, at no less effort.

    The last four results decide: each of the last three below the one before, the last at
    least 5 points below the first, and none of the three told as easier than the first.
    Where one of the four efforts is missing nothing is known, so nothing is said. In order
    of chance alone, four different figures fall so once in 4! = 24 times.
    """
    last = points[-(FALLS + 1) :]
    if len(last) <= FALLS:
        return False
    start = last[0]
    if start.effort is None or any(p.effort is None or p.effort < start.effort for p in last):
        return False
    falls = all(later.index < before.index for before, later in pairwise(last))
    return falls and start.index - last[-1].index >= LEAST_FALL


@dataclass(frozen=True, slots=True)
class Use:
    """A result with an option: place in the class of ``size``, and the effort told."""

    place: int
    size: int
    effort: int | None


def could_leave(uses: Sequence[Use]) -> bool:
    """Whether an easier option may be more help than its user needs.

    Their last four results with it all in the top third of a class of six or more, each
    told as 6 or easier. An effort that was not told counts as too hard.
    """
    last = uses[-USES:]
    return len(last) == USES and all(
        use.size >= FIELD
        and 3 * use.place <= use.size
        and use.effort is not None
        and use.effort <= EASY_EFFORT
        for use in last
    )


def days_away(before: date, day: date, *, held: int) -> int | None:
    """Days between two results, if they are a break of three weeks in which at least two
    classes were ``held``; else ``None``."""
    days = (day - before).days
    return days if days >= AWAY_DAYS and held >= HELD_MEANWHILE else None


def days_silent(last: date, today: date, *, held: int, at_least: int) -> int | None:
    """Days since the last result, if they are ``at_least`` so many, at most half a year,
    and at least two classes were ``held`` in them; else ``None``."""
    days = (today - last).days
    return days if at_least <= days <= FORGOTTEN_DAYS and held >= HELD_MEANWHILE else None


_LEGS = {"low back", "hip or groin", "thigh", "knee", "calf or shin", "ankle or foot"}
_ARMS = {"shoulder", "elbow", "wrist or hand", "upper back", "low back"}
_LOADS = {
    Pattern.SQUAT: _LEGS,
    Pattern.LUNGE: _LEGS,
    Pattern.JUMP: _LEGS,
    Pattern.LOCOMOTION: _LEGS,
    Pattern.HINGE: _LEGS | {"upper back", "wrist or hand"},
    Pattern.PUSH: _ARMS,
    Pattern.PULL: _ARMS,
    Pattern.CORE: _ARMS | {"hip or groin"},
}
# Where nobody should wager on what the pain is.
_ALWAYS = {"chest", "head or neck", "elsewhere"}


def is_hurt_there(movement: str, areas: Collection[str]) -> bool:
    """Whether a movement may load a part of the body that hurts.

    A movement that the catalogue does not know, or that asks for the whole body, may load
    any. It is a bar to suggestions, not a leave to train what is not in it.
    """
    known = catalogue.find(movement)
    loaded = _LOADS.get(known.pattern, set(AREAS)) if known else set(AREAS)
    return any(area in loaded or area in _ALWAYS for area in areas)
