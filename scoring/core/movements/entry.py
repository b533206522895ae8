"""What the catalogue holds of one movement."""

from __future__ import annotations

import enum
from dataclasses import dataclass
from fractions import Fraction


class Pattern(enum.Enum):
    """What a movement chiefly asks of the body; a review groups by it."""

    SQUAT = "squat"
    HINGE = "hinge"
    LUNGE = "lunge"
    PUSH = "push"
    PULL = "pull"
    CORE = "core"
    CARRY = "carry"
    HOLD = "hold"
    JUMP = "jump"
    LOCOMOTION = "locomotion"
    MACHINE = "machine"
    WHOLE_BODY = "whole body"
    MOBILITY = "mobility"


class Sides(enum.Enum):
    """Whether the left and the right work together."""

    TOGETHER = "both together"
    ONE = "one at a time"
    EITHER = "both together or one at a time, by the gear"


@dataclass(frozen=True)
class Movement:
    """An exercise that a coach can prescribe by name.

    Attributes
    ----------
    name
        Lower case and singular, as a board writes it.
    standard
        What makes a rep a good one, in one sentence.
    pattern
        What it chiefly asks of the body.
    takes_load
        Whether a load can be written on its line.
    sides
        Whether left and right work together.
    seconds
        Usual seconds of one rep at a class's pace, with at most one decimal: of a calorie
        on a machine, of a metre for what is counted in metres, of the whole hold for a hold.
    easier
        Usual easier options, names of the catalogue, the nearest one first.
    gear
        What it needs at home; empty for the floor alone.
    caution
        What to watch for; empty when there is nothing beyond the usual.
    aliases
        Other names for the same movement.
    """

    name: str
    standard: str
    pattern: Pattern
    takes_load: bool
    sides: Sides
    seconds: Fraction
    easier: tuple[str, ...] = ()
    gear: tuple[str, ...] = ()
    caution: str = ""
    aliases: tuple[str, ...] = ()

    @property
    def is_two_sided(self) -> bool:
        """Whether both sides always work together, so that its reps have no sides."""
        return self.sides is Sides.TOGETHER


class Table:
    """The rows of one pattern, written one under the other.

    It exists so that a row states only what sets its movement apart.
    """

    def __init__(self, pattern: Pattern) -> None:
        self.pattern = pattern
        self.rows: list[Movement] = []

    def add(
        self,
        name: str,
        seconds: str,
        standard: str,
        *,
        load: bool = False,
        sides: Sides = Sides.TOGETHER,
        easier: tuple[str, ...] = (),
        gear: tuple[str, ...] = (),
        caution: str = "",
        aka: tuple[str, ...] = (),
    ) -> None:
        """Write one row; ``seconds`` is decimal text, so that it stays exact."""
        self.rows.append(
            Movement(
                name,
                standard,
                self.pattern,
                load,
                sides,
                Fraction(seconds),
                easier,
                gear,
                caution,
                aka,
            )
        )
