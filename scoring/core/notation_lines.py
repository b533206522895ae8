"""What single lines of a board say: the grammar in notation.lark and its reader.

A line is folded first, to the one spelling that the grammar knows. What is read is
plain data; notation.py knows where the line stands and makes blocks of it.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any

from lark import Lark, Token, Transformer, Tree
from lark.exceptions import VisitError

from .names import FOLDED, plain
from .prescription import BlockKind, Load, PrescriptionError, Unit

Said = dict[str, Any]


@lru_cache(maxsize=1)
def _grammar() -> Lark:
    return Lark(
        Path(__file__).with_name("notation.lark").read_text(encoding="utf-8"),
        parser="lalr",
        start=["head_cap", "header", "movement", "option"],
        maybe_placeholders=False,
    )


_WORDS = {
    "alternating": "the sides",
    "per_side": "the sides",
    "count": "how much to do",
    "load": "the load",
    "credit": "the credit",
    "units_per_rep": "what makes a rep",
}


def _together(children: list[Any]) -> Said:
    """All that the parts of a line say; nothing may be said twice."""
    said: Said = {}
    for child in children:
        if isinstance(child, Token):
            if child.type == "NAME":
                child_said: Said = {"movement": str(child).strip()}
            else:
                child_said = {"alternating": True}
        else:
            child_said = child
        for key, value in child_said.items():
            if key in said and key in _WORDS:
                raise PrescriptionError(f"This says {_WORDS[key]} twice: write it once.")
            said[key] = value
    return said


def _clock(token: str) -> int:
    total = 0
    parts = [int(part) for part in token.split(":")]
    if any(part > 59 for part in parts[1:]):
        raise PrescriptionError(f"{token} is not a time; minutes and seconds go to 59.")
    for part in parts:
        total = total * 60 + part
    return total


class _Reader(Transformer[Token, Any]):
    """Parse trees of single lines → what they say."""

    # times, in seconds

    def clock(self, children: list[Token]) -> int:
        return _clock(str(children[0]))

    def minutes_and_seconds(self, children: list[Token]) -> int:
        return int(children[0]) * 60 + (int(children[2]) if len(children) > 2 else 0)

    def only_seconds(self, children: list[Token]) -> int:
        return int(children[0])

    def hours(self, children: list[Token]) -> int:
        return int(children[0]) * 3600

    def bare_minutes(self, children: list[Token]) -> int:
        return int(children[0]) * 60

    def duration(self, children: list[int]) -> int:
        return children[0]

    def head_cap(self, children: list[int]) -> int:
        return children[0]

    # the first line of a block

    def header(self, children: list[Said]) -> Said:
        said: Said = {}
        for child in children:
            said.update(child)
        return said

    def one_side(self, _: list[Token]) -> Said:
        return {"one_side_per_round": True}

    def not_scored(self, _: list[Token]) -> Said:
        return {"scored": False}

    def nothing(self, _: list[Token]) -> Said:
        return {}

    def for_quality(self, _: list[Token]) -> Said:
        return {"kind": BlockKind.ROUNDS, "scored": False}

    def ladder(self, children: list[Token]) -> Said:
        return {"kind": BlockKind.LADDER, "rungs": tuple(map(int, children[0].split("-")))}

    def rounds(self, children: list[Token]) -> Said:
        return {"kind": BlockKind.ROUNDS, "rounds": int(children[0])}

    def for_time(self, _: list[Token]) -> Said:
        return {"kind": BlockKind.ROUNDS, "for_time": True}

    def amrap_left(self, _: list[Token]) -> Said:
        return {"kind": BlockKind.AMRAP}

    def amrap(self, children: list[int]) -> Said:
        return {"kind": BlockKind.AMRAP, "seconds": children[0]}

    def every(self, children: list[int | Token]) -> int:
        return 60 if isinstance(children[0], Token) else children[0]

    def intervals(self, children: list[Any]) -> Said:
        rounds = next(int(c) for c in children[1:] if c.type == "COUNT")
        return {"kind": BlockKind.INTERVALS, "seconds": children[0], "rounds": rounds}

    def intervals_after(self, children: list[Any]) -> Said:
        rounds = int(children[0])
        return {"kind": BlockKind.INTERVALS, "seconds": children[-1], "rounds": rounds}

    def intervals_in(self, children: list[int]) -> Said:
        length, whole = children
        if not length or whole % length:
            raise PrescriptionError(
                "The intervals don't fill that time evenly: write every 1:00 for 10 rounds."
            )
        return {"kind": BlockKind.INTERVALS, "seconds": length, "rounds": whole // length}

    def minutes(self, children: list[int]) -> Said:
        return self.intervals_in([60, children[0]])

    def rest(self, children: list[int]) -> Said:
        return {"kind": BlockKind.REST, "seconds": children[0]}

    def max_load(self, children: list[Token]) -> Said:
        return {"kind": BlockKind.MAX_LOAD, "reps": int(children[0])}

    # movements and options

    def movement(self, children: list[Any]) -> Said:
        return _together(children)

    def option(self, children: list[Any]) -> Said:
        return {"movement": None, "load": None, "credit": None} | _together(children)

    def load(self, children: list[Token]) -> Said:
        units = {"kg" if c[0] == "k" else "lb" for c in children if c.type == "UNIT"}
        if len(units) > 1:
            raise PrescriptionError("Two loads stand together in one unit: 20/12 kg.")
        amounts = tuple(Fraction(str(c)) for c in children if c.type == "NUMBER")
        return {"load": Load(amounts, units.pop())}

    def credit(self, children: list[Token]) -> Said:
        number = next(Fraction(str(c)) for c in children if c.type == "NUMBER")
        return {"credit": number / 100 if children[-1].type == "PERCENT" else number}

    def maximum(self, children: list[Token]) -> Said:
        unit = {"CALORIES": Unit.CALORIES, "METRES": Unit.METRES, "SECONDS": Unit.SECONDS}
        return {"is_max": True, "unit": unit.get(children[-1].type, Unit.REPS)}

    def reps(self, children: list[Token]) -> Said:
        return {"count": next(int(c) for c in children if c.type == "COUNT")}

    def calories(self, children: list[Token]) -> Said:
        return {"count": int(children[0]), "unit": Unit.CALORIES}

    def metres(self, children: list[Token]) -> Said:
        return {"count": int(children[0]), "unit": Unit.METRES}

    def kilometres(self, children: list[Token]) -> Said:
        metres = Fraction(str(children[0])) * 1000
        if metres.denominator != 1:
            raise PrescriptionError("A distance is in whole metres: 400 m run.")
        return {"count": int(metres), "unit": Unit.METRES}

    def seconds(self, children: list[Any]) -> Said:
        return {"count": children[-1], "unit": Unit.SECONDS}

    def trailing_hold(self, children: list[Any]) -> Said:
        return {"count": children[-1], "unit": Unit.SECONDS, "is_hold": True}

    def in_calories(self, _: list[Token]) -> Said:
        return {"unit": Unit.CALORIES}

    def in_metres(self, _: list[Token]) -> Said:
        return {"unit": Unit.METRES}

    def in_seconds(self, _: list[Token]) -> Said:
        return {"unit": Unit.SECONDS}

    def alternating(self, _: list[Token]) -> Said:
        return {"alternating": True}

    def per_side(self, _: list[Token]) -> Said:
        return {"per_side": True}

    def metres_a_rep(self, children: list[Token]) -> Said:
        return {"units_per_rep": int(children[0]), "rep_unit": Unit.METRES}

    def seconds_a_rep(self, children: list[Any]) -> Said:
        return {"units_per_rep": children[0], "rep_unit": Unit.SECONDS}


_READER = _Reader()

_BULLET = re.compile(r"^[-•*·] ")
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")
_SIDES = re.compile(r" ?\((alternating|alt|(?:per|each) (?:side|arm|leg))\)")
_SPACED_SCHEME = re.compile(r"(?<=\d) ?- ?(?=\d)")
_JOINED_WORD = re.compile(r"(?<=\d)-(?=(?:min|rep|round|sec))")
_COLON = re.compile(r" ?:(?!\d)|(?<!\d):")


def folded(text: str, rule: str) -> str:
    """A line as the grammar wants it: lower case, plain signs, single spaces."""
    line = plain(plain(text).translate(FOLDED).lower())
    line = _BULLET.sub("", line)
    line = _DECIMAL_COMMA.sub(".", line)
    if rule in ("header", "head_cap"):
        line = _SPACED_SCHEME.sub("-", line)
        line = _JOINED_WORD.sub(" ", line)
        line = _COLON.sub(" ", line).replace(" (", ", ").replace(")", "")
    else:
        line = _SIDES.sub(r", \1", line).replace("credit:", "credit ")
    return " ".join(line.split()).rstrip(" ,;")


def read(rule: str, line: str) -> Any:
    """What a folded line says; raises ``UnexpectedInput`` or ``PrescriptionError``."""
    tree: Tree[Token] = _grammar().parse(line, start=rule)
    try:
        return _READER.transform(tree)
    except VisitError as error:
        if isinstance(error.orig_exc, PrescriptionError):
            raise error.orig_exc from None
        raise
