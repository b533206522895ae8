"""What a service of this application says when it refuses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["invalid", "conflict", "forbidden", "gone"]


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that is wrong, and what would be right."""

    column: str
    problem: str
    suggestion: str = ""


class Refused(Exception):
    """Bad input or a forbidden act; nothing was changed. ``kind`` tells what sort."""

    def __init__(
        self, column: str, problem: str, suggestion: str = "", *, kind: Kind = "invalid"
    ) -> None:
        super().__init__(problem)
        self.items = [Item(column, problem, suggestion)]
        self.kind: Kind = kind
