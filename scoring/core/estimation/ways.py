"""The ways in which a rep can be done: movements, their options and their loads."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .assumptions import COST_SPREAD, TIE_SPREAD

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Way:
    """How a rep is done.

    Parameters
    ----------
    movement
        The movement of the board's line, as the catalogue names it.
    option
        The movement done in its place; empty for the movement itself.
    load
        Kilograms as text, ``"24"`` or ``"24/16"``; empty where there is none.
    unit
        What is counted: ``reps``, ``calories``, ``metres`` or ``seconds``.
    """

    movement: str
    option: str = ""
    load: str = ""
    unit: str = "reps"

    @property
    def key(self) -> str:
        """One text for each way, to sort by and to find again."""
        return "|".join((self.movement, self.option, self.load, self.unit))

    @classmethod
    def of(cls, key: str) -> Way:
        """Read what ``key`` wrote."""
        return cls(*key.split("|"))

    @property
    def label(self) -> str:
        """What a member would call it: ``tuck rock``, ``goblet squat @ 12 kg``."""
        name = self.option or self.movement
        return f"{name} @ {self.load} kg" if self.load else name


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """All ways of a gym, with what is held of their seconds a rep before any result.

    A root's log seconds have the prior N(``base``, ``COST_SPREAD``²). Any other way is tied
    to its ``parent``: the difference of log seconds has the prior N(``tie``, ``TIE_SPREAD``²),
    ``tie`` being the logarithm of the coach's credit.

    Attributes
    ----------
    ways : tuple of Way, in the order of their keys
    base : (P,) floats
        Log seconds a rep by the catalogue; of a tied way, its parent's plus the ties.
    parent : (P,) ints
        Position of the way that a way is tied to, -1 for a root.
    tie : (P,) floats, 0 for a root
    """

    ways: tuple[Way, ...]
    base: Floats
    parent: Ints
    tie: Floats

    def __len__(self) -> int:
        return len(self.ways)

    def position(self, way: Way) -> int | None:
        """Where a way stands, ``None`` for one that is not listed."""
        return self.positions.get(way)

    @property
    def positions(self) -> dict[Way, int]:
        """Position of every way."""
        return {way: index for index, way in enumerate(self.ways)}

    def prior_precision(self) -> Floats:
        """The inverse of the prior's covariance, (P, P)."""
        size = len(self)
        precision = np.zeros((size, size))
        roots = np.flatnonzero(self.parent < 0)
        precision[roots, roots] += COST_SPREAD**-2
        tied = np.flatnonzero(self.parent >= 0)
        held = self.parent[tied]
        weight = TIE_SPREAD**-2
        np.add.at(precision, (tied, tied), weight)
        np.add.at(precision, (held, held), weight)
        np.add.at(precision, (tied, held), -weight)
        np.add.at(precision, (held, tied), -weight)
        return precision


def tied(roots: dict[Way, float], ties: dict[Way, tuple[Way, float]]) -> Ways:
    """Ways from roots and ties.

    Parameters
    ----------
    roots
        Seconds a rep by the catalogue, more than 0, of each root.
    ties
        Of each other way the way it is tied to (a root or another tied way) and the coach's
        credit, more than 0.

    Raises
    ------
    ValueError
        For seconds or credits that are not more than 0, and for a tie to a way that is not
        listed, or in a circle.
    """
    listed = sorted({*roots, *ties}, key=lambda way: way.key)
    if any(not value > 0 for value in (*roots.values(), *(credit for _, credit in ties.values()))):
        raise ValueError("Seconds and credits are more than 0.")
    positions = {way: index for index, way in enumerate(listed)}
    parent = np.full(len(listed), -1, dtype=np.int64)
    tie = np.zeros(len(listed))
    base = np.full(len(listed), np.nan)
    for way, seconds in roots.items():
        base[positions[way]] = np.log(seconds)
    for way, (to, credit) in ties.items():
        if way in roots or to not in positions:
            raise ValueError(f"{way.label} can't be tied to {to.label}.")
        parent[positions[way]] = positions[to]
        tie[positions[way]] = np.log(credit)
    for index in range(len(listed)):
        chain = []
        at = index
        while np.isnan(base[at]):
            chain.append(at)
            at = int(parent[at])
            if len(chain) > len(listed):
                raise ValueError(f"{listed[index].label} is tied in a circle.")
        for link in reversed(chain):
            base[link] = base[parent[link]] + tie[link]
    return Ways(tuple(listed), base, parent, tie)
