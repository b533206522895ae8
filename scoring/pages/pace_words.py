"""The typical member's clock, as a coach reads it off beside the camera."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from scoring.core.course import Course
from scoring.core.estimation.pace import Pace
from scoring.core.pacing import rough
from scoring.core.prescription import clock_text

from .strip import block_title

SHOWN = 8
"""So many rungs or rounds of a block are told; of more the first and every few of the rest."""


@dataclass(frozen=True, slots=True)
class PaceRow:
    """A block, and when the typical member ends its rungs or rounds."""

    title: str
    ends: str


def pace_rows(course: Course, pace: Pace | None) -> list[PaceRow]:
    """One row for each block that the typical member comes to; none where nothing is known."""
    if pace is None:
        return []
    rows = []
    sets = [(course.set_at(passing.index), passing.seconds) for passing in pace.line()]
    for number, own in groupby(sets, key=lambda pair: pair[0].block):
        lines = len(course.workout_block(number).lines)
        ends = [
            (course_set.round, seconds)
            for course_set, seconds in own
            if course_set.line.position == lines
        ]
        if not ends:
            continue
        step = -(-len(ends) // SHOWN)
        kept = [end for at, end in enumerate(ends, start=1) if at % step == 0 or at == len(ends)]
        rungs = course.workout_block(number).rungs
        names = [str(rungs[round_ - 1]) if rungs else f"round {round_}" for round_, _ in kept]
        told = [
            f"{name} at {clock_text(rough_seconds(seconds))}"
            for name, (_, seconds) in zip(names, kept, strict=True)
        ]
        if len(ends) == 1 and not rungs:
            told = [f"done at {clock_text(rough_seconds(ends[0][1]))}"]
        rows.append(PaceRow(block_title(course, course.blocks[number - 1]), ", ".join(told)))
    return rows


def rough_seconds(seconds: float) -> int:
    """To ten seconds: the typical member is nobody to the second."""
    return rough(Fraction(round(seconds)))
