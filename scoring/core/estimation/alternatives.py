"""What would let more of a group through: fewer reps in the same shape, or more time.

Nothing is proposed that wasn't forecast itself, with the same group and the same luck.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import log

from ..course import Course
from ..credits import Choice
from ..prescription import Block, BlockKind, Workout
from .forecast import Field
from .track import track

OWN_SHAPE = 0.25
"""How far the ratio of the largest to the smallest rung may move, in its logarithm (our own
choice: 12-9-6 still looks like 21-15-9, 12-11-10 doesn't)."""


@dataclass(frozen=True, slots=True)
class Lighter:
    """A block with less in it. ``was`` and ``text`` are what the coach wrote and would write;
    ``share`` of the group is expected past its end then."""

    block: int
    was: str
    text: str
    share: float
    workout: Workout


def lighter(
    field: Field,
    workout: Workout,
    choices: Sequence[Mapping[int, Choice]],
    block: int,
    cap: int,
    share: float,
) -> Lighter | None:
    """The most that can stay in a ladder or in rounds for a share of the group to get past its
    end by the cap; ``None`` where less of it can't do that.

    Parameters
    ----------
    choices
        Those that the field's tracks were made with, in their order.
    block
        The block's number on the course.
    """
    course = Course(workout)
    old = course.workout_block(block)
    offers = sorted(_offers(old), key=lambda one: one[0])
    found: Lighter | None = None
    low, high = 0, len(offers)
    while low < high:
        # a block's work grows with its reps, since every round has all of its lines
        middle = (low + high) // 2
        _, made, text = offers[middle]
        other = _with(workout, old, made)
        remade = Course(other)
        then = field.other([track(remade, chosen) for chosen in choices]).share_past(block, cap)
        if then >= share:
            found = Lighter(block, written(old), text, then, other)
            low = middle + 1
        else:
            high = middle
    return found


def written(block: Block) -> str:
    """How much of a block there is, as the coach writes it: ``21-15-9``, ``5 rounds``."""
    if block.kind is BlockKind.LADDER:
        return "-".join(map(str, block.rungs))
    return f"{block.rounds} round{'' if block.rounds == 1 else 's'}"


def _with(workout: Workout, old: Block, made: Block) -> Workout:
    return replace(workout, blocks=tuple(made if b is old else b for b in workout.blocks))


def _offers(block: Block) -> list[tuple[int, Block, str]]:
    """Smaller blocks of the same shape, with their reps a line to sort by."""
    if block.kind is BlockKind.LADDER:
        made = [replace(block, rungs=rungs) for rungs in shapes(block.rungs)]
        return [(sum(one.rungs), one, written(one)) for one in made]
    if block.kind is BlockKind.ROUNDS and block.rounds > 1:
        made = [replace(block, rounds=rounds) for rounds in range(1, block.rounds)]
        return [(one.rounds, one, written(one)) for one in made]
    return []


def shapes(rungs: tuple[int, ...]) -> list[tuple[int, ...]]:
    """Smaller ladders that look like one: even steps stay even, and what rises or falls goes
    on doing so. One for each number of reps, the closest in shape."""
    steps = {after - before for before, after in pairwise(rungs)}
    found: dict[int, tuple[float, tuple[int, ...]]] = {}
    if len(steps) == 1 and steps != {0}:
        offered = _even(rungs, steps.pop())
    else:
        top = max(rungs)
        offered = [tuple(max(1, round(r * part / top)) for r in rungs) for part in range(1, top)]
    for made in offered:
        away = abs(log(max(made) / min(made)) - log(max(rungs) / min(rungs)))
        is_alike = all(
            (b > a) == (d > c) and (b < a) == (d < c)
            for (a, b), (c, d) in zip(pairwise(rungs), pairwise(made), strict=True)
        )
        if is_alike and away <= OWN_SHAPE and sum(made) < sum(rungs):
            held = found.get(sum(made))
            if held is None or away < held[0]:
                found[sum(made)] = (away, made)
    return [made for _, made in found.values()]


def _even(rungs: tuple[int, ...], step: int) -> list[tuple[int, ...]]:
    """Ladders in even steps, up to this one's."""
    size = len(rungs)
    made = []
    for smallest in range(1, min(rungs) + 1):
        for width in range(1, abs(step) + 1):
            rising = tuple(smallest + width * number for number in range(size))
            made.append(rising if step > 0 else rising[::-1])
    return made
