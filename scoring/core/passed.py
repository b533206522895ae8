"""When a class passed the end of each block: quarters, and whom a block cost most."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from .course import Course
from .crowd import at_share, quarters
from .prescription import BlockKind

FEWEST = 5
"""With fewer splits nobody is singled out: the middle of so few says too little."""

NOTABLE = Fraction(1, 10)
"""A block is told of somebody where it cost them a tenth more than their whole class does
(our own choice: less is what a clock looked at a little late makes)."""

_TOLD = 3


@dataclass(frozen=True, slots=True)
class Slow:
    """Somebody whom a block cost more than the rest did. ``more`` is the share: 0.2 says that
    against the class's middle the block took a fifth longer than all they did took."""

    id: int
    seconds: Fraction
    more: Fraction


@dataclass(frozen=True, slots=True)
class Passed:
    """The clock at the end of a block over all who noted it.

    ``reference`` is where the reference seconds put it. ``passed`` is how many got to the
    block's end at all, ``noted`` how many of them told when.
    """

    block: int
    passed: int
    noted: int
    quarters: tuple[Fraction, Fraction, Fraction] | None
    reference: Fraction
    slow: tuple[Slow, ...]

    @property
    def middle(self) -> Fraction | None:
        return None if self.quarters is None else self.quarters[1]


@dataclass(frozen=True, slots=True)
class Splits:
    """A member's raw reps, splits by block, and credited pace."""

    id: int
    reps: int
    splits: Mapping[int, Fraction]
    performance: Fraction


def ends(course: Course) -> list[int]:
    """The blocks that end before the course does, so that a split can be taken at them."""
    kinds = [block.block.kind for block in course.blocks]
    if len(kinds) < 2 or BlockKind.INTERVALS in kinds:
        return []
    return list(range(1, len(kinds)))


def passed(
    course: Course, members: Sequence[Splits], reference: Mapping[int, Fraction]
) -> list[Passed]:
    """One row for each block that ends before the course does. ``reference`` are the seconds
    at which the reference pace ends each block."""
    paces = sorted(member.performance for member in members)
    middle_pace = at_share(paces, Fraction(1, 2)) if paces else Fraction(0)
    found = []
    for block in ends(course):
        end = course.block_end(block)
        noted = [member for member in members if block in member.splits]
        times = quarters(sorted(member.splits[block] for member in noted))
        found.append(
            Passed(
                block=block,
                passed=sum(member.reps >= end for member in members),
                noted=len(noted),
                quarters=times,
                reference=reference[block],
                slow=_slow(block, noted, times[1], middle_pace) if times else (),
            )
        )
    return found


def _slow(
    block: int, noted: Sequence[Splits], middle: Fraction, middle_pace: Fraction
) -> tuple[Slow, ...]:
    """The three whom the block cost most against all they did, where that is notable."""
    if len(noted) < FEWEST or not middle or not middle_pace:
        return ()
    compared = [
        Slow(
            member.id,
            member.splits[block],
            member.splits[block] / middle * (member.performance / middle_pace) - 1,
        )
        for member in noted
    ]
    most = sorted(compared, key=lambda slow: (-slow.more, slow.id))
    return tuple(slow for slow in most[:_TOLD] if slow.more >= NOTABLE)
