"""What a class used at each movement: options and loads, and how far those who took them got."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from .course import Course
from .credits import Portion
from .crowd import QUARTERS, Stop, at_share, by_order, place_words


@dataclass(frozen=True, slots=True)
class Way:
    """One way in which a line was done. ``share`` is of those who did any rep of the line;
    who changed in the middle counts to both. ``median`` is the mark at half of them."""

    label: str
    prescribed: bool
    credit: Fraction
    source: str
    count: int
    share: Fraction
    reps: int
    median: str


@dataclass(frozen=True, slots=True)
class LineUse:
    """A line of the course: how many got to it, and the ways they took, most taken first
    (as prescribed before the others)."""

    number: str
    movement: str
    there: int
    ways: tuple[Way, ...]


def used(course: Course, done: Sequence[tuple[Stop, Sequence[Portion]]]) -> list[LineUse]:
    """What each line was done as, in course order; lines nobody got to have no ways.

    ``done`` are the members' stops and the portions of their scores.
    """
    found: list[dict[tuple[str, bool], list[tuple[Stop, Portion]]]] = [{} for _ in course.lines]
    there: list[set[int]] = [set() for _ in course.lines]
    for stop, portions in done:
        for portion in portions:
            there[portion.line].add(stop.id)
            key = (portion.label, portion.prescribed)
            found[portion.line].setdefault(key, []).append((stop, portion))
    return [
        LineUse(
            line.number,
            line.line.movement,
            len(there[line.index]),
            tuple(
                sorted(
                    (_way(course, taken, len(there[line.index])) for taken in ways.values()),
                    key=lambda way: (not way.prescribed, -way.count, way.label),
                )
            ),
        )
        for line, ways in zip(course.lines, found, strict=True)
    ]


def _way(course: Course, taken: list[tuple[Stop, Portion]], of: int) -> Way:
    stops = {stop.id: stop for stop, _ in taken}
    middle = at_share(by_order(stops.values()), QUARTERS[1])
    portion = taken[0][1]
    return Way(
        label=portion.label,
        prescribed=portion.prescribed,
        credit=portion.credit,
        source=portion.source,
        count=len(stops),
        share=Fraction(len(stops), of),
        reps=sum(part.reps for _, part in taken),
        median=place_words(course, middle),
    )
