"""Which ways a gym's courses know, and what each is tied to before any result."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from fractions import Fraction

from ..course import Course, CourseLine
from ..credits import Choice, CreditTable, credit_for
from ..prescription import BlockKind
from .naming import reference_seconds, units, way_of
from .ways import Way, Ways, tied

LEAST_CREDIT = Fraction(1, 20)
"""A credit below it is taken as it, since a tie is its logarithm."""

Subject = tuple[str, str]
"""A movement and the unit it is counted in: what has one root."""


def subject(way: Way) -> Subject:
    """The movement and unit that a way belongs to."""
    return way.movement, way.unit


def kilograms(way: Way) -> Fraction | None:
    """A way's load, of two loads their mean; ``None`` where there is none."""
    if not way.load:
        return None
    loads = [Fraction(text) for text in way.load.split("/")]
    return sum(loads, Fraction(0)) / len(loads)


class Listing:
    """Collects ways as courses are seen, and ties them.

    A movement's root is the way in which it is prescribed most often (of equals the lightest,
    so that what is heavier is worth more than one), at the catalogue's seconds. Its other loads
    are tied to it by the load rule of the credit table. Options are tied to it with the credit
    written on a board (the newest one, of equal days the higher), else with the table's. A
    member's own load of an option is tied to that option by the load rule.

    Parameters
    ----------
    table
        The gym's credits of today.
    known
        Ways whose roots stay the roots of their movements, as for a workout that is only
        planned.
    """

    def __init__(self, table: CreditTable, known: Ways | None = None) -> None:
        self.table = table
        self._prescribed: dict[Subject, Counter[Way]] = {}
        self._reference: dict[Subject, tuple[Fraction, Fraction]] = {}
        self._offered: dict[Way, tuple[bool, float, Fraction]] = {}
        self._own: dict[Way, tuple[float, Fraction, str, Way]] = {}
        self._loads: set[Way] = set()
        self._roots: dict[Subject, tuple[Way, float]] = {}
        if known is not None:
            for way, base, parent in zip(known.ways, known.base, known.parent, strict=True):
                if parent < 0:
                    self._roots[subject(way)] = way, math.exp(base)

    def see(self, course: Course, day: float = 0.0) -> None:
        """List what a course prescribes and offers. ``course`` must weigh reps; ``day`` tells
        newer boards from older ones."""
        for line in course.lines:
            if course.workout_block(line.block).kind is BlockKind.MAX_LOAD:
                continue  # no clock runs in a strength piece
            way = way_of(line)
            self._prescribed.setdefault(subject(way), Counter())[way] += 1
            told = units(line), reference_seconds(line)
            self._reference[subject(way)] = max(told, self._reference.get(subject(way), told))
            for number in range(len(line.line.options)):
                self._see_option(line, number, day)

    def _see_option(self, line: CourseLine, number: int, day: float) -> None:
        option = line.line.options[number]
        choice = Choice(line.index, number)
        way = way_of(line, choice)
        same = option.movement == line.line.movement
        known = (line.line.movement, option.label) in self.table.options or (
            not same and (line.line.movement, option.movement) in self.table.options
        )
        if same and line.line.load and option.credit is None and not known:
            self._loads.add(way)
            return
        credit, _ = credit_for(line, choice, self.table, above_one=True)
        told = option.credit is not None, day if option.credit is not None else 0.0, credit
        self._offered[way] = max(told, self._offered.get(way, told))

    def use(self, line: CourseLine, choice: Choice, day: float = 0.0) -> Way:
        """The way of a member's choice, listed with the rest.

        Raises ``ChoiceError`` for a choice that can't be.
        """
        credit_for(line, choice, self.table)
        way = way_of(line, choice)
        if choice.load is not None and way.option:
            to = way_of(line, Choice(line.index, choice.option))
            if to != way:
                against = line.line.options[choice.option or 0].load or line.line.load
                middle = None if against is None else _mean(against.kilograms)
                credit = self._by_load(kilograms(way), middle)
                told = day, credit, to.key, to
                self._own[way] = max(told, self._own.get(way, told))
        elif not way.option:
            self._loads.add(way)
        return way

    def _by_load(self, used: Fraction | None, against: Fraction | None) -> Fraction:
        """What the load rule says; 1 where there is nothing to compare."""
        if used is None or against is None:
            return Fraction(1)
        return self.table.for_load(used, (against,))

    def ways(self) -> Ways:
        """All of them, tied."""
        roots = dict(self._roots.values())
        root = {key: way for key, (way, _) in self._roots.items()}
        for key, counted in self._prescribed.items():
            if key not in root:
                root[key] = min(
                    counted, key=lambda way: (-counted[way], kilograms(way) or 0, way.key)
                )
                roots[root[key]] = float(self._reference[key][1])
        ties: dict[Way, tuple[Way, float]] = {}
        loads = self._loads.union(*self._prescribed.values())
        for way in loads:
            to = root[subject(way)]
            ties[way] = to, _logged(self._by_load(kilograms(way), kilograms(to)))
        for way, (_, credit, _, option) in self._own.items():
            ties[way] = option, _logged(credit)
        for way, (_, _, credit) in self._offered.items():
            ties[way] = root[subject(way)], _logged(credit)
        return tied(roots, {way: tie for way, tie in ties.items() if way not in roots})


def _mean(values: tuple[Fraction, ...]) -> Fraction:
    return sum(values, Fraction(0)) / len(values)


def _logged(credit: Fraction) -> float:
    return float(max(credit, LEAST_CREDIT))


def ways_of(courses: Iterable[Course], table: CreditTable, known: Ways | None = None) -> Ways:
    """Ways that courses prescribe and offer, tied; ``known`` as in ``Listing``."""
    listing = Listing(table, known)
    for course in courses:
        weighed = course if course.weighted else Course(course.workout, weighted=True)
        listing.see(weighed)
    return listing.ways()
