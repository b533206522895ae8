"""A seeded simulation: where the clock catches an invented member on a course."""

from __future__ import annotations

import random
from dataclasses import dataclass
from fractions import Fraction

from scoring.core.course import Course
from scoring.core.marks import Caught, Finished, IntervalReps, mark_text
from scoring.core.prescription import BlockKind

FADE = 0.0009
"""How much slower each further rep gets, as a share."""


@dataclass
class Form:
    """An invented member's form: seconds a rep against the usual, and a taste for options.

    ``week`` is what a usual week makes of ``slowness``: for some less, for others more.
    """

    slowness: float
    scales: float
    attends: float
    week: float

    def drift(self, dice: random.Random) -> None:
        """A week passes: who is getting faster mostly does, but not every week."""
        self.slowness = min(1.9, max(0.75, self.slowness * dice.gauss(self.week, 0.012)))


def new_form(dice: random.Random) -> Form:
    """Somebody's form when they begin."""
    slowness = min(1.7, max(0.85, dice.gauss(1.2, 0.16)))
    return Form(
        slowness,
        min(0.9, max(0.05, (slowness - 0.85) * 1.4)),
        dice.uniform(0.5, 0.92),
        week=dice.gauss(0.999, 0.004),
    )


def perform(
    dice: random.Random, course: Course, seconds: Course, form: Form
) -> tuple[str, str, dict[str, str]]:
    """Do a workout: the mark, the options used, and splits, as texts.

    ``seconds`` is the same course with its reps weighed, for their usual seconds.
    """
    chosen = {
        line.index: line.line.options[0].label
        for line in course.lines
        if line.line.options and dice.random() < form.scales
    }
    options = "; ".join(f"{course.lines[i].number} {label}" for i, label in chosen.items())
    pace = form.slowness * dice.gauss(1, 0.06)
    limit = course.limit or 600
    block = course.workout_block(1)
    if block.kind is BlockKind.INTERVALS:
        marks = []
        for round_number in range(block.rounds):
            clock, reps = 0.0, 0
            for position, line in enumerate(course.lines):
                size = course.sets[position].reps
                rep = _rep(seconds, line.index, pace, line.index in chosen)
                done = min(size, int(((block.seconds or 60) * 0.9 - clock) / rep))
                done = max(0, done - round_number // 4)
                clock += done * rep
                reps += done
            marks.append(reps)
        return mark_text(course, IntervalReps(tuple(marks))), options, {}
    clock, raw, index = 0.0, 0, 0
    splits: dict[str, str] = {}
    now, block_number = pace, 0
    while course.is_endless or index < len(course.sets):
        here = course.set_at(index)
        if here.block != block_number:
            block_number, now = here.block, pace * dice.gauss(1, 0.05)
        for _ in range(here.reps):
            rep = _rep(seconds, here.line.index, now, here.line.index in chosen)
            clock += rep * (1 + FADE * raw)
            if clock > limit:
                return mark_text(course, Caught(raw)), options, splits
            raw += 1
        index += 1
        if here.block < len(course.blocks) and raw == course.block_end(here.block):
            splits[str(here.block)] = f"{int(clock) // 60}:{int(clock) % 60:02d}"
    return mark_text(course, Finished(Fraction(int(clock) or 1))), options, splits


def _rep(seconds: Course, line: int, pace: float, is_scaled: bool) -> float:
    return seconds.lines[line].weight / 10 * pace * (0.78 if is_scaled else 1)
