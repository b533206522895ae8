"""What a service says when it refuses: where, why, and what would be right."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["invalid", "conflict", "closed", "forbidden"]


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that is wrong. ``line`` is a line of a workout's text, from 1."""

    column: str
    problem: str
    suggestion: str = ""
    line: int | None = None


class Refused(Exception):
    """Bad input or a forbidden act; nothing was changed.

    ``kind`` tells what sort: ``invalid`` input, a ``conflict`` with what is there, a class
    that is ``closed`` for it, or an act that is ``forbidden`` to this person.
    """

    def __init__(self, *items: Item, kind: Kind = "invalid") -> None:
        super().__init__(" ".join(item.problem for item in items))
        self.items = list(items)
        self.kind: Kind = kind
        self.is_counted = False


def storable(text: str) -> bool:
    """Whether every database can keep a text: no NUL, nothing that is no character."""
    return "\0" not in text and not any("\ud800" <= letter <= "\udfff" for letter in text)


def refuse(column: str, problem: str, suggestion: str = "", kind: Kind = "invalid") -> Refused:
    """A refusal with one item."""
    return Refused(Item(column, problem, suggestion), kind=kind)
