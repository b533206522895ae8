"""My version of a class: at each line the way that fits what a member has and usually does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from . import catalogue
from .course import Course, CourseLine
from .credits import Choice, choice_label, credit_for, is_as_written
from .gear import can_do, loaded_pieces
from .prescription import Load
from .scoring import Rules


@dataclass(frozen=True, slots=True)
class Setup:
    """What a member has and usually takes.

    ``pieces`` are of ``gear.PIECES``; ``None`` means nothing was told, and then everything
    fits. ``loads`` are the weights of a piece, each in kg or lb; a piece without any may
    weigh what is asked for. ``usual`` is an option's label by the movement it stands for.
    """

    pieces: frozenset[str] | None = None
    loads: Mapping[str, tuple[Load, ...]] = field(default_factory=dict)
    usual: Mapping[str, str] = field(default_factory=dict)


class Why(StrEnum):
    """What led to a line's version."""

    AS_WRITTEN = "as written"
    USUAL = "what you usually take"
    GEAR = "fits the gear you have"
    LOAD = "the nearest weight you have"
    NOTHING = "nothing offered fits the gear you have"


@dataclass(frozen=True, slots=True)
class Fit:
    """A member's version of one line. ``choice`` is ``None`` where nothing offered fits;
    then ``easier`` names movements of the catalogue that would, to ask the coach about."""

    line: int
    movement: str
    choice: Choice | None
    label: str
    credit: Fraction | None
    source: str
    why: Why
    easier: tuple[str, ...] = ()

    @property
    def is_as_written(self) -> bool:
        return self.why is Why.AS_WRITTEN


def my_version(course: Course, rules: Rules, setup: Setup) -> tuple[Fit, ...]:
    """One fit for each line of the course, in order."""
    return tuple(_fit(line, rules, setup) for line in course.lines)


def _fit(line: CourseLine, rules: Rules, setup: Setup) -> Fit:
    written = Choice(line.index)
    usual = setup.usual.get(line.line.movement)
    options = [Choice(line.index, number) for number in range(len(line.line.options))]
    if usual is not None:
        for choice in [written, *options]:
            if choice_label(line, choice) == usual:
                possible = _possible(line, choice, setup)
                if possible is not None:
                    why = Why.AS_WRITTEN if possible == written else Why.USUAL
                    return _told(line, possible, rules, why)
    first = _possible(line, written, setup)
    if first == written:
        return _told(line, written, rules, Why.AS_WRITTEN)
    others = [found for o in options if (found := _possible(line, o, setup)) is not None]
    # A weight that the coach offers counts what they say, not what the load rule makes of it.
    is_offered = first is not None and any(_same_load(line, o, first) for o in others)
    candidates = [first, *others] if first is not None and not is_offered else others
    if not candidates:
        known = catalogue.find(line.line.movement)
        pieces = setup.pieces or frozenset()
        easier = tuple(e for e in known.easier if can_do(e, pieces)) if known else ()
        return Fit(line.index, line.line.movement, None, "", None, "", Why.NOTHING, easier)
    best = max(candidates, key=lambda choice: _credit(line, choice, rules)[0])
    is_own_weight = best.load is not None or best.option is None
    return _told(line, best, rules, Why.LOAD if is_own_weight else Why.GEAR)


def _same_load(line: CourseLine, offered: Choice, own: Choice) -> bool:
    """Whether an offered option is the written movement with one's own weight."""
    option = None if offered.option is None else line.line.options[offered.option]
    load = None if option is None else offered.load or option.load
    return (
        option is not None
        and load is not None
        and own.load is not None
        and option.movement == line.line.movement
        and load.kilograms[0] == own.load.kilograms[0]
    )


def _possible(line: CourseLine, choice: Choice, setup: Setup) -> Choice | None:
    """The choice as this member can do it, perhaps with a load of their own; else ``None``."""
    if setup.pieces is None:
        return choice
    written = line.line
    option = None if choice.option is None else written.options[choice.option]
    movement = written.movement if option is None else option.movement
    if not can_do(movement, setup.pieces):
        return None
    load = written.load if option is None else option.load
    if load is None:
        return choice
    own = [w for p in loaded_pieces(movement, setup.pieces) for w in setup.loads.get(p, ())]
    if not own or any(w.kilograms[0] in load.kilograms for w in own):
        return choice
    # Never heavier than the heaviest that is written: nobody is sent to load up.
    lighter = [w for w in own if w.kilograms[0] < load.kilograms[0]]
    if not lighter:
        return None
    return Choice(line.index, choice.option, max(lighter, key=lambda w: w.kilograms[0]))


def _credit(line: CourseLine, choice: Choice, rules: Rules) -> tuple[Fraction, str]:
    return credit_for(line, choice, rules.table, above_one=rules.above_one)


def _told(line: CourseLine, choice: Choice, rules: Rules, why: Why) -> Fit:
    credit, source = _credit(line, choice, rules)
    if is_as_written(line, choice):
        why = Why.AS_WRITTEN
    return Fit(
        line.index, line.line.movement, choice, choice_label(line, choice), credit, source, why
    )
