"""Which options a gym's courses offer and its results use, and where each credit comes from."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from .course import Course
from .credits import Choice, CreditTable, credit_for

_PART = re.compile(r"(\d+\.\d+) (.*?)(?:: \d+)?$")


def labels_used(options: str) -> Iterator[tuple[str, str]]:
    """Line and label of every choice in the canonical text of a result's options.

    ``2.1 knee push-up: 10; 1.1 goblet squat @ 12 kg`` → ``("2.1", "knee push-up")``,
    ``("1.1", "goblet squat @ 12 kg")``. Many times faster than reading the choices, for
    pages that only count.
    """
    for part in options.split("; "):
        if match := _PART.match(part):
            yield match[1], match[2]


@dataclass(slots=True)
class Use:
    """An option of a movement over a gym's classes.

    ``on_board`` counts classes by the credit written for it in their text; ``open_in`` is
    the number of classes whose text writes none; ``load`` says that it is the movement itself
    with another load, which the load rule credits.
    """

    movement: str
    option: str
    load: bool = False
    on_board: dict[Fraction, int] = field(default_factory=dict)
    open_in: int = 0

    @property
    def is_fixed(self) -> bool:
        """Whether every class that offers it has its credit on the board."""
        return bool(self.on_board) and not self.open_in


def credit_in(
    table: CreditTable, movement: str, option: str, *, by_load: bool
) -> tuple[Fraction | None, str]:
    """What a table credits an option with, and where that comes from in words.

    ``None`` for another load, which the load rule answers load by load.
    """
    base = option.partition(" @ ")[0]
    known = table.options.get((movement, option)) or table.options.get((movement, base))
    if known is not None:
        return known, "in the table"
    if by_load:
        return None, "by the load rule"
    return table.default_option, "usual figure: nobody has set one"


def offered(course: Course) -> Iterator[tuple[str, str, Fraction | None, bool]]:
    """Movement, option, the board's own credit and whether the load rule has it, each once."""
    seen: set[tuple[str, str]] = set()
    for line in course.lines:
        for number, option in enumerate(line.line.options):
            key = (line.line.movement, option.label)
            if key not in seen:
                seen.add(key)
                source = credit_for(line, Choice(line.index, number), CreditTable())[1]
                yield *key, option.credit, source.startswith("by the load rule")
