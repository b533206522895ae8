"""What is worth saying of a forecast, in a sentence or two."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..course import Course
from ..credits import Choice
from ..prescription import BlockKind, clock_text
from .alternatives import lighter
from .forecast import Field, Forecast

SHARE = 0.8
"""The share of a group that a proposal should let through."""

STUCK = 0.6
"""Where fewer than this share get past a block, it is told of."""

NEARLY_ALL = 0.9
"""From this share on nobody need be told that many get through."""

EARLY = 0.6
"""Half done before this share of the cap is early."""

WIDE = 0.5
"""A share that may be so much more or less is hard to say."""

FEW = 5
"""Of fewer members shares are always wide."""

_TENTHS = ("", "One in ten", "Two in ten", "Three in ten", "Four in ten", "Half of the group")
_MORE = ("Six in ten", "Seven in ten", "Eight in ten", "Nine in ten", "Nearly everybody")
_NTH = ("first", "second", "third", "fourth", "fifth", "sixth")


def part_of_group(share: float) -> str:
    """``Half of the group``, ``Three in ten``; ``Hardly anybody`` below a twentieth."""
    tenths = round(share * 10)
    return (*_TENTHS, *_MORE)[tenths] or "Hardly anybody"


def percent(share: float) -> str:
    """A share that is known or asked for: ``62 %``."""
    return f"{round(100 * share)} %"


def chance(share: float) -> str:
    """A share that is expected, which is never sure: ``62 %``, ``over 99 %``, ``under 1 %``."""
    if share > 0.99:
        return "over 99 %"
    return "under 1 %" if share < 0.01 else percent(share)


def chances(low: float, high: float) -> str:
    """A range of them: ``20 % to over 99 %``, and ``over 99 %`` where both ends say so."""
    told = chance(low), chance(high)
    return told[0] if told[0] == told[1] else " to ".join(told)


def block_name(course: Course, number: int) -> str:
    """``the ladder``, ``the second ladder``, ``the rounds``, ``block 2``."""
    kind = course.workout_block(number).kind
    if kind is BlockKind.LADDER:
        noun = "ladder"
    elif kind is BlockKind.ROUNDS and course.workout_block(number).rounds > 1:
        noun = "rounds"
    else:
        return f"block {number}"
    alike = [
        block.number
        for block in course.blocks
        if block.block.kind is kind and (noun == "ladder" or block.block.rounds > 1)
    ]
    at = alike.index(number)
    if len(alike) == 1:
        return f"the {noun}"
    return f"the {_NTH[at]} {noun}" if at < len(_NTH) else f"block {number}"


def to_pass(course: Course, number: int) -> str:
    """What getting past a block's end is: ``finish``, ``reach the AMRAP``, ``leave the first
    ladder``."""
    if number == len(course.blocks):
        return "finish"
    if course.is_endless and number == len(course.blocks) - 1:
        return "reach the AMRAP"
    return f"leave {block_name(course, number)}"


def remarks(
    course: Course,
    field: Field,
    told: Forecast,
    choices: Sequence[Mapping[int, Choice]],
    share: float = SHARE,
) -> tuple[str, ...]:
    """The one or two things that stand out; one that nothing does, where that is so.

    ``choices`` are those that the field's tracks were made with. Nothing of nobody.
    """
    if not len(field):
        return ()
    said = [*_stuck(course, field, told, choices, share)]
    if not said:
        said += _early(field, told)
    if not said:
        said += _no_round(course, told)
    said += _unsure(course, told, len(field))
    return tuple(said[:2]) or (_nothing(course, told),)


def _stuck(
    course: Course,
    field: Field,
    told: Forecast,
    choices: Sequence[Mapping[int, Choice]],
    share: float,
) -> list[str]:
    """The first block that holds many up, and what would let most through."""
    gate = next((gate for gate in told.gates if gate.share < STUCK), None)
    if gate is None:
        return []
    doing = to_pass(course, gate.block)
    left = 1 - gate.share
    who = f"{part_of_group(left)} will not {doing}"
    if left > 0.95:
        who = f"Hardly anybody will {doing}"
    ways = []
    cap = field.cap_for(share, gate.block)
    if cap is not None and cap > told.cap:
        ways.append(f"a cap of {clock_text(cap)}")
    less = lighter(field, course.workout, choices, gate.block, told.cap, share)
    if less is not None:
        ways.append(f"{less.text} in place of {less.was}")
    if not ways:
        return [f"{who}."]
    between = ", or " if len(ways) > 1 else ""
    comma = "," if len(ways) > 1 else ""
    return [f"{who}: {between.join(ways)}{comma} would let {percent(share)} through."]


def _early(field: Field, told: Forecast) -> list[str]:
    """Nearly all finish, and long before the cap."""
    if told.last is None or told.last.share < NEARLY_ALL or field.tracks[0].is_endless:
        return []
    half, most = field.cap_for(0.5), field.cap_for(NEARLY_ALL)
    if half is None or most is None or half > EARLY * told.cap or most >= told.cap:
        return []
    return [
        f"Half of the group will be done by {clock_text(half)}, long before the cap of "
        f"{clock_text(told.cap)}: a cap of {clock_text(most)} would still let "
        f"{percent(NEARLY_ALL)} finish."
    ]


def _no_round(course: Course, told: Forecast) -> list[str]:
    """Half of the group doesn't get through one round of the AMRAP."""
    if not course.is_endless or told.middle[1] >= course.amrap_start + course.round_reps:
        return []
    return [
        "Half of the group will not get through one round of the AMRAP: a shorter round would "
        "let them."
    ]


def _unsure(course: Course, told: Forecast, members: int) -> list[str]:
    gate = told.last
    if gate is None or members < FEW or gate.high - gate.low < WIDE:
        return []
    return [
        f"How many will {to_pass(course, gate.block)} is hard to say: anything from "
        f"{chances(gate.low, gate.high)}."
    ]


def _nothing(course: Course, told: Forecast) -> str:
    if told.last is None:
        return "Nothing stands out."
    return (
        f"Nothing stands out: {chance(told.last.share)} are expected to "
        f"{to_pass(course, told.last.block)}."
    )
