"""What a coach prescribes: workouts, blocks, movement lines, options and loads.

Every class here is frozen and validated when it is made, so a ``Workout`` that
exists is one that can be unrolled and scored. Numbers are exact: loads and
credits are ``Fraction``, times are whole seconds.
"""

from __future__ import annotations

import enum
from dataclasses import dataclass
from fractions import Fraction

from .names import name_problem, plain

LB_IN_KG = Fraction(45359237, 100_000_000)
"""One pound in kilograms, exact (24 FR 5348, 1959)."""

MAX_COUNT = 10_000
"""The largest count of one movement line, and of rounds or intervals."""

MAX_SETS = 20_000
"""The longest finite course, in sets."""

MAX_SECONDS = 6 * 3600
"""The longest cap. The board's exact integer key relies on it, see ranking.py."""

CREDIT_SCALE = 10_000
"""Credits have at most four decimals. The integer key relies on it too."""

MAX_CREDIT = Fraction(2)


MAX_SCHEME = 150
"""The longest rep scheme, in characters as written: it has to fit on one line."""


class PrescriptionError(ValueError):
    """A prescription that cannot be run or scored; the message says what would be right.

    ``block`` and ``line`` are the indexes of the block and of its line at fault, where
    they are known; ``suggestion`` says what to write where the message doesn't.
    """

    def __init__(
        self,
        message: str,
        *,
        block: int | None = None,
        line: int | None = None,
        suggestion: str = "",
    ) -> None:
        super().__init__(message)
        self.suggestion = suggestion
        self.block = block
        self.line = line


class Unit(enum.Enum):
    """What a movement line counts."""

    REPS = "reps"
    CALORIES = "calories"
    METRES = "metres"
    SECONDS = "seconds"


class BlockKind(enum.Enum):
    """The kinds of block a board can hold."""

    LADDER = "ladder"
    ROUNDS = "rounds"
    AMRAP = "amrap"
    INTERVALS = "intervals"
    REST = "rest"
    MAX_LOAD = "max load"


@dataclass(frozen=True, slots=True)
class Load:
    """A prescribed or used load.

    Parameters
    ----------
    amounts
        One or two positive amounts in ``unit``, heaviest first when there are two.
    unit
        ``"kg"`` or ``"lb"``.
    """

    amounts: tuple[Fraction, ...]
    unit: str = "kg"

    def __post_init__(self) -> None:
        if self.unit not in ("kg", "lb"):
            raise PrescriptionError(f"A load is in kg or lb, not {self.unit!r}.")
        if not 1 <= len(self.amounts) <= 2:
            raise PrescriptionError("A load is one amount or two, such as 20 kg or 20/12 kg.")
        for amount in self.amounts:
            if not 0 < amount <= 1000:
                raise PrescriptionError("A load is more than 0 and at most 1000.")
            if (amount * 1000).denominator != 1:
                raise PrescriptionError("A load has at most three decimals.")
        if len(self.amounts) == 2 and self.amounts[0] <= self.amounts[1]:
            raise PrescriptionError("Of two loads the heavier stands first: 20/12 kg.")

    @property
    def kilograms(self) -> tuple[Fraction, ...]:
        """The amounts in kilograms, exact."""
        factor = LB_IN_KG if self.unit == "lb" else Fraction(1)
        return tuple(amount * factor for amount in self.amounts)

    def __str__(self) -> str:
        return f"{'/'.join(decimal_text(a) for a in self.amounts)} {self.unit}"


@dataclass(frozen=True, slots=True)
class Option:
    """Another way to do a prescribed movement: another movement, another load, or both.

    ``credit`` is what one rep counts in prescribed reps; ``None`` leaves it to the
    credit table.
    """

    movement: str
    load: Load | None = None
    credit: Fraction | None = None

    def __post_init__(self) -> None:
        check_name(self.movement)
        if self.load is not None and len(self.load.amounts) != 1:
            raise PrescriptionError("An option has one load.")
        if self.credit is not None:
            check_credit(self.credit)

    @property
    def label(self) -> str:
        """The option's name as members see it: ``tuck rock`` or ``goblet squat @ 12 kg``."""
        return self.movement if self.load is None else f"{self.movement} @ {self.load}"


@dataclass(frozen=True, slots=True)
class Line:
    """One movement line of a block.

    Parameters
    ----------
    movement
        The movement's name, lower case, as the catalogue or the coach writes it.
    count
        Units to do in one round. ``None`` in a ladder or a max-load block (the
        count comes from the block) and for ``max`` in an intervals block.
    unit
        What is counted.
    load
        The prescribed load, if any.
    alternating
        The side changes with every rep and goes on from set to set.
    per_side
        The count is for each side, so the raw reps are twice the count.
    units_per_rep
        How many metres or seconds make one rep; ``None`` makes a distance or a
        hold one all-or-nothing rep.
    options
        Other ways to do it, in the coach's order.
    """

    movement: str
    count: int | None = None
    unit: Unit = Unit.REPS
    load: Load | None = None
    alternating: bool = False
    per_side: bool = False
    units_per_rep: int | None = None
    options: tuple[Option, ...] = ()

    def __post_init__(self) -> None:
        check_name(self.movement)
        if self.count is not None and not 1 <= self.count <= MAX_COUNT:
            raise PrescriptionError(f"A count is from 1 to {MAX_COUNT}.")
        if self.alternating and self.per_side:
            raise PrescriptionError("A movement is alternating or per side, not both.")
        if self.units_per_rep is not None:
            if self.unit not in (Unit.METRES, Unit.SECONDS):
                raise PrescriptionError("Only a distance or a hold says how much makes a rep.")
            if self.count is None or self.units_per_rep < 1 or self.count % self.units_per_rep:
                raise PrescriptionError("What makes a rep must divide the count evenly.")
        labels = [option.label for option in self.options]
        if len(set(labels)) != len(labels):
            raise PrescriptionError(f"An option of {self.movement} stands there twice.")
        if len(labels) > 20:
            raise PrescriptionError("A movement has at most 20 options.")
        for option in self.options:
            if option.movement == self.movement and option.load == self.load:
                raise PrescriptionError(f"The option {option.label} is what is prescribed already.")

    def raw_reps(self, count: int) -> int:
        """Raw reps of a set with this count: sides, distances and holds considered."""
        sides = 2 if self.per_side else 1
        if self.unit in (Unit.METRES, Unit.SECONDS):
            return sides * (count // self.units_per_rep if self.units_per_rep else 1)
        return sides * count


@dataclass(frozen=True, slots=True)
class Block:
    """A part of the workout.

    ``rungs`` belongs to ladders, ``rounds`` to rounds and intervals, ``seconds`` to
    rests (their length), intervals (the length of one) and AMRAPs (their length,
    ``None`` meaning the time left), ``reps`` to max-load pieces.
    ``for_time`` records that one round was written ``for time``.
    """

    kind: BlockKind
    lines: tuple[Line, ...] = ()
    rungs: tuple[int, ...] = ()
    rounds: int = 1
    seconds: int | None = None
    reps: int | None = None
    one_side_per_round: bool = False
    for_time: bool = False
    scored: bool = True

    def __post_init__(self) -> None:
        kind = self.kind
        if kind is BlockKind.REST:
            if self.lines or not self.seconds:
                raise PrescriptionError("A rest has a length and no movements: rest 2:00.")
        elif not self.lines:
            raise PrescriptionError(f"A block ({kind.value}) needs at least one movement line.")
        if len(self.lines) > 50:
            raise PrescriptionError("A block has at most 50 movement lines.")
        if kind is BlockKind.LADDER:
            if not 1 <= len(self.rungs) <= 50:
                raise PrescriptionError("A ladder has 1 to 50 rungs, such as 18-12-6.")
            if any(not 1 <= rung <= MAX_COUNT for rung in self.rungs):
                raise PrescriptionError(f"A rung is from 1 to {MAX_COUNT} reps.")
            if len("-".join(map(str, self.rungs))) > MAX_SCHEME:
                raise PrescriptionError(f"A rep scheme has at most {MAX_SCHEME} characters.")
            for position, line in enumerate(self.lines):
                if line.count is not None:
                    raise PrescriptionError(
                        "In a ladder the count comes from the scheme: "
                        f"write {line.movement} alone.",
                        line=position,
                    )
        elif self.rungs:
            raise PrescriptionError("Only a ladder has a rep scheme.")
        if not 1 <= self.rounds <= MAX_COUNT:
            raise PrescriptionError(f"Rounds are from 1 to {MAX_COUNT}.")
        if self.rounds > 1 and kind not in (BlockKind.ROUNDS, BlockKind.INTERVALS):
            raise PrescriptionError("Only rounds and intervals have a number of rounds.")
        if self.for_time and (kind is not BlockKind.ROUNDS or self.rounds > 1):
            raise PrescriptionError("Only one round of counted lines is written 'for time'.")
        if self.reps is not None and kind is not BlockKind.MAX_LOAD:
            raise PrescriptionError("Only a strength piece has reps of its own.")
        if self.seconds is not None and kind not in (
            BlockKind.REST,
            BlockKind.INTERVALS,
            BlockKind.AMRAP,
        ):
            raise PrescriptionError("Only rests, intervals and AMRAPs have a length.")
        if self.seconds is not None and not 1 <= self.seconds <= MAX_SECONDS:
            raise PrescriptionError("A time is from 0:01 to 6:00:00.")
        if kind is BlockKind.INTERVALS and self.seconds is None:
            raise PrescriptionError("Intervals need a length: every 1:00 for 10 rounds.")
        if kind is BlockKind.INTERVALS and self.seconds * self.rounds > MAX_SECONDS:  # type: ignore[operator]
            raise PrescriptionError("Intervals last at most 6:00:00 in all.")
        if kind is BlockKind.MAX_LOAD:
            if len(self.lines) != 1 or self.reps is None or not 1 <= self.reps <= 100:
                raise PrescriptionError(
                    "A strength piece has one movement and 1 to 100 reps: max load, 3 reps."
                )
            if self.lines[0].count is not None or self.lines[0].load is not None:
                raise PrescriptionError("In a strength piece the movement stands alone.")
        if self.one_side_per_round and kind not in (BlockKind.AMRAP, BlockKind.ROUNDS):
            raise PrescriptionError("One side per round belongs to rounds and AMRAPs.")
        for position, line in enumerate(self.lines):
            if kind in (BlockKind.ROUNDS, BlockKind.AMRAP) and line.count is None:
                raise PrescriptionError(
                    f"{line.movement} needs a count: 10 {line.movement}.", line=position
                )
            if (
                kind is BlockKind.INTERVALS
                and line.count is None
                and position + 1 < len(self.lines)
            ):
                raise PrescriptionError(
                    "Only the last movement of an interval can be max.", line=position
                )


@dataclass(frozen=True, slots=True)
class Workout:
    """A titled prescription: blocks in order and a cap in seconds.

    Scored blocks are either any number of ladders and rounds, with rests between
    and at most one AMRAP at the end; or one intervals block; or one strength piece;
    or none at all.
    """

    title: str
    blocks: tuple[Block, ...]
    cap: int | None = None

    def __post_init__(self) -> None:
        if not 1 <= len(self.title) <= 120 or self.title != plain(self.title):
            raise PrescriptionError(
                "A title is one line of 1 to 120 characters.",
                suggestion="The first line is the title; shorten it.",
            )
        if self.title.startswith("#"):
            raise PrescriptionError(
                "A title does not begin with #.", suggestion="The first line is the title."
            )
        if not 1 <= len(self.blocks) <= 50:
            raise PrescriptionError(
                "A workout has 1 to 50 blocks.", suggestion="A blank line begins a new one."
            )
        if self.cap is not None and not 1 <= self.cap <= MAX_SECONDS:
            raise PrescriptionError(
                "A cap is from 0:01 to 6:00:00.", suggestion="Such as: cap 18:00."
            )
        scored = [
            (i, b) for i, b in enumerate(self.blocks) if b.scored and b.kind is not BlockKind.REST
        ]
        kinds = [block.kind for _, block in scored]
        for index, block in scored:
            if block.kind in (BlockKind.INTERVALS, BlockKind.MAX_LOAD) and len(kinds) > 1:
                raise PrescriptionError(
                    f"A class scores one thing: beside the {block.kind.value} block, "
                    "mark the others 'not scored'.",
                    block=index,
                    suggestion="Write it behind a block's first line: 3 rounds, not scored.",
                )
        for index, block in scored[:-1]:
            if block.kind is BlockKind.AMRAP:
                raise PrescriptionError(
                    "An AMRAP is the last scored block, "
                    "since nothing comes after it on the course.",
                    block=index,
                    suggestion="Make it the last block, or write a number of rounds: 5 rounds.",
                )
        index, last = scored[-1] if scored else (0, None)
        if last and last.kind is BlockKind.AMRAP and last.seconds is not None:
            if len(scored) > 1:
                raise PrescriptionError(
                    "After other blocks an AMRAP takes the time left: amrap in the time left.",
                    block=index,
                    suggestion="The cap under the title is the time of everything.",
                )
            if self.cap is not None and self.cap != last.seconds:
                raise PrescriptionError(
                    "The cap and the length of the AMRAP differ; write one.",
                    block=index,
                    suggestion="Leave the line with the cap out, or correct it.",
                )
        needs_cap = any(k in (BlockKind.LADDER, BlockKind.ROUNDS, BlockKind.AMRAP) for k in kinds)
        if needs_cap and self.time_limit is None:
            raise PrescriptionError(
                "A scored workout needs a cap: cap 18:00.", suggestion="Write it under the title."
            )
        if BlockKind.INTERVALS in kinds and self.cap not in (None, self.time_limit):
            raise PrescriptionError(
                "Intervals bring their own clock; leave the cap out.",
                suggestion="Take the line with the cap away.",
            )
        sets = sum(len(b.lines) * (len(b.rungs) or b.rounds) for b in self.blocks)
        if sets > MAX_SETS:
            raise PrescriptionError(
                f"The course has more than {MAX_SETS} sets; use fewer rounds.",
                suggestion="Or fewer movements in a round.",
            )

    @property
    def scored_blocks(self) -> tuple[Block, ...]:
        """The blocks that make the course, in order, rests between them included."""
        return tuple(block for block in self.blocks if block.scored)

    @property
    def time_limit(self) -> int | None:
        """When the clock stops, in seconds; ``None`` for a strength or unscored piece."""
        for block in self.scored_blocks:
            if block.kind is BlockKind.INTERVALS:
                return block.rounds * (block.seconds or 0)
            if block.kind is BlockKind.AMRAP and block.seconds is not None:
                return block.seconds
        return self.cap


def check_name(name: str) -> None:
    """Raise ``PrescriptionError`` unless ``name`` can name a movement on a board's line."""
    if problem := name_problem(name):
        raise PrescriptionError(problem)


def check_credit(credit: Fraction) -> None:
    """Raise ``PrescriptionError`` unless ``credit`` is above 0, at most 2, four decimals."""
    if not 0 < credit <= MAX_CREDIT:
        raise PrescriptionError("A credit is more than 0 and at most 2.")
    if (credit * CREDIT_SCALE).denominator != 1:
        raise PrescriptionError("A credit has at most four decimals.")


def decimal_text(value: Fraction) -> str:
    """An exact finite decimal as text, without trailing zeros: ``Fraction(5, 2)`` → ``2.5``.

    Raises ``ValueError`` when the fraction has no finite decimal of twelve places.
    """
    scaled = value * 10**12
    if scaled.denominator != 1:
        raise ValueError(f"{value} is not a finite decimal")
    sign = "-" if scaled < 0 else ""
    whole, part = divmod(abs(scaled.numerator), 10**12)
    return f"{sign}{whole}" + (f".{part:012d}".rstrip("0") if part else "")


def clock_text(seconds: int | Fraction) -> str:
    """A time as a clock shows it: ``754`` → ``12:34``; hours only where there are any.

    A fraction of a second is printed to a tenth, rounded half to even.
    """
    tenths = round(Fraction(seconds) * 10)
    whole, tenth = divmod(tenths, 10)
    hours, rest = divmod(whole, 3600)
    minutes, secs = divmod(rest, 60)
    text = f"{hours}:{minutes:02d}:{secs:02d}" if hours else f"{minutes}:{secs:02d}"
    return text + (f".{tenth}" if tenth else "")
