"""What somebody needs to do a class well: standards, gear, cautions, options with credits."""

from __future__ import annotations

from dataclasses import dataclass

from scoring.core import catalogue
from scoring.core.course import Course, CourseLine
from scoring.core.credits import Choice, credit_for
from scoring.core.figures import figure
from scoring.core.notation_print import block_text
from scoring.core.prescription import Block, BlockKind, Workout
from scoring.core.scoring import Rules

STOP = (
    "Stop at once and get help for pain or pressure in the chest, neck, jaw or arms, for "
    "faintness, or for breathlessness that does not fit the effort."
)


@dataclass(frozen=True, slots=True)
class Parts:
    """A workout's board text by what it is for; empty where there is none of it."""

    warm_up: str
    workout: str
    cool_down: str


@dataclass(frozen=True, slots=True)
class Standard:
    """A movement of the workout: what makes a rep good, what to watch, what it needs."""

    name: str
    standard: str
    caution: str
    gear: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Offered:
    """An option of a line, and what a rep of it counts."""

    line: str
    movement: str
    option: str
    credit: str
    source: str


def parts(workout: Workout) -> Parts:
    """What is not scored before and after the course, and what stands between.

    A workout without any scored block is all workout.
    """
    scored = [i for i, b in enumerate(workout.blocks) if b.scored and b.kind is not BlockKind.REST]
    if not scored:
        return Parts("", _text(workout.blocks), "")
    first, after = scored[0], scored[-1] + 1
    return Parts(
        _text(workout.blocks[:first]),
        _text(workout.blocks[first:after]),
        _text(workout.blocks[after:]),
    )


def _text(blocks: tuple[Block, ...]) -> str:
    return "\n\n".join(block_text(block) for block in blocks)


def standards(workout: Workout) -> list[Standard]:
    """Every movement of a workout once, options too; coaches' own have no standard here."""
    found: dict[str, Standard] = {}
    for block in workout.blocks:
        for line in block.lines:
            for name in (line.movement, *(o.movement for o in line.options)):
                known = catalogue.find(name)
                if name not in found:
                    found[name] = Standard(
                        name,
                        known.standard if known else "",
                        known.caution if known else "",
                        known.gear if known else (),
                    )
    return list(found.values())


def gear(listed: list[Standard]) -> list[str]:
    """Every piece of gear once, by name."""
    return sorted({piece for standard in listed for piece in standard.gear})


def offered(course: Course, rules: Rules) -> list[Offered]:
    """Every option of the course with its credit."""
    return [
        Offered(line.number, line.line.movement, option.label, *_credit(line, number, rules))
        for line in course.lines
        for number, option in enumerate(line.line.options)
    ]


def _credit(line: CourseLine, number: int, rules: Rules) -> tuple[str, str]:
    credit, source = credit_for(
        line, Choice(line.index, number), rules.table, above_one=rules.above_one
    )
    return figure(credit, most=4), source
