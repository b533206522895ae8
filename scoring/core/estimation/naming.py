"""From lines of the course and members' choices to ways."""

from __future__ import annotations

from fractions import Fraction

from ..course import CourseLine
from ..credits import Choice
from ..prescription import LB_IN_KG, Load, Unit, decimal_text
from .ways import Way


def load_text(load: Load | None) -> str:
    """Kilograms to a tenth, the heavier of two first: ``24``, ``24/16``; empty for none."""
    if load is None:
        return ""
    factor = LB_IN_KG if load.unit == "lb" else Fraction(1)
    return "/".join(decimal_text(Fraction(round(a * factor * 10), 10)) for a in load.amounts)


def way_of(course_line: CourseLine, choice: Choice | None = None) -> Way:
    """How a line is done by a choice; without one, as prescribed.

    The same movement with another load is a way of the movement, whether the board offers
    that load or the member chose it.
    """
    line = course_line.line
    load, other = line.load, ""
    if choice is not None and choice.option is not None:
        option = line.options[choice.option]
        if option.movement != line.movement:
            other, load = option.movement, option.load
        else:
            load = option.load or line.load
    if choice is not None and choice.load is not None:
        load = choice.load
    return Way(line.movement, other, load_text(load), line.unit.value)


def units(course_line: CourseLine, reps: int = 1) -> Fraction:
    """What so many raw reps of a line are in its unit, as metres of a distance.

    An all-or-nothing distance or hold is one rep of all its metres or seconds.
    """
    line = course_line.line
    if line.unit is Unit.REPS or line.unit is Unit.CALORIES:
        return Fraction(reps)
    return Fraction(reps * (line.units_per_rep or line.count or 1))


def reference_seconds(course_line: CourseLine) -> Fraction:
    """The catalogue's seconds a unit of a line; its course must weigh reps."""
    return Fraction(course_line.weight, 10) / units(course_line)
