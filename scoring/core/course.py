"""The course: the scored workout unrolled into its sets, and places on it.

A place is where a member stands: some sets done whole and some reps of the next.
``place → raw reps`` and ``raw reps → place`` are exact inverses everywhere; the end
of a set and the start of the next are one place, written as the start of the next.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate

from . import catalogue
from .prescription import Block, BlockKind, Line, Unit, Workout

MAX_RAW_REPS = 1_000_000
"""More reps than anybody can do under the longest cap; marks beyond it are refused."""

USUAL_SECONDS = Fraction(3)
"""Reference seconds of a rep nothing is known of (common practice, no source)."""

SECONDS_PER_METRE = Fraction(3, 10)
"""Reference seconds of a metre covered, an easy run (common practice, no source)."""

MAX_SET_REPS = 10_000
"""The bound of a set written ``max``."""


class PlaceError(ValueError):
    """A place that is not on the course; the message says what would be."""


@dataclass(frozen=True, slots=True)
class CourseLine:
    """One movement line of the course.

    ``number`` is the block's number on the course and the line's place in it, both
    from 1: ``"2.1"``. ``weight`` is what one rep weighs: 1, or the tenths of
    reference seconds where the class weighs reps.
    """

    index: int
    number: str
    block: int
    position: int
    line: Line
    weight: int


@dataclass(frozen=True, slots=True)
class CourseSet:
    """One run of one movement: ``reps`` raw reps, ``count`` as the coach wrote it.

    ``round`` is the rung, round or interval from 1; ``other_side`` is true in the even
    rounds of a ``one side per round`` block.
    """

    index: int
    block: int
    round: int
    line: CourseLine
    reps: int
    count: int
    other_side: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """``reps`` done in the set number ``index`` (from 0), all sets before it done."""

    index: int
    reps: int


@dataclass(frozen=True, slots=True)
class CourseBlock:
    """A scored block with its number on the course and where it starts, in raw reps.

    ``rest`` are the seconds of rest right before it.
    """

    number: int
    block: Block
    start: int
    first_set: int
    rest: int = 0


class Course:
    """A workout's scored blocks unrolled.

    Parameters
    ----------
    workout
        A valid prescription.
    weighted
        Whether a rep weighs its reference seconds in place of counting one. They are the
        catalogue's usual seconds a rep (a metre of a distance); a hold weighs its own
        seconds, a movement the catalogue doesn't know ``USUAL_SECONDS`` a rep or
        ``SECONDS_PER_METRE``.

    Attributes
    ----------
    sets : tuple of CourseSet
        The finite part, in order.
    tail : tuple of CourseSet
        The first round of the closing AMRAP; empty when the course is finite.
    total : int or None
        Raw reps of the whole course, ``None`` when it is endless.
    limit : int or None
        When the clock stops, in seconds.
    """

    def __init__(self, workout: Workout, weighted: bool = False) -> None:
        self.workout = workout
        self.weighted = weighted
        self.limit = workout.time_limit
        self.blocks: tuple[CourseBlock, ...] = ()
        self.lines: tuple[CourseLine, ...] = ()
        sets: list[CourseSet] = []
        tail: list[CourseSet] = []
        lines: list[CourseLine] = []
        blocks: list[CourseBlock] = []
        start, rest = 0, 0
        for block in workout.scored_blocks:
            if block.kind is BlockKind.REST:
                rest += block.seconds or 0
                continue
            number = len(blocks) + 1
            blocks.append(CourseBlock(number, block, start, len(sets), rest))
            rest = 0
            own = [
                CourseLine(
                    len(lines) + i,
                    f"{number}.{i + 1}",
                    number,
                    i + 1,
                    line,
                    self._weight(line),
                )
                for i, line in enumerate(block.lines)
            ]
            lines += own
            if block.kind is BlockKind.MAX_LOAD:
                continue
            into = tail if block.kind is BlockKind.AMRAP else sets
            rounds = block.rungs or ((0,) if block.kind is BlockKind.AMRAP else (0,) * block.rounds)
            for round_number, rung in enumerate(rounds, start=1):
                for course_line in own:
                    line = course_line.line
                    count = rung or line.count or MAX_SET_REPS
                    into.append(
                        CourseSet(
                            len(sets) + (len(tail) if into is tail else 0),
                            number,
                            round_number,
                            course_line,
                            line.raw_reps(count),
                            count,
                            block.one_side_per_round and round_number % 2 == 0,
                        )
                    )
            start = sum(s.reps for s in sets)
        self.blocks = tuple(blocks)
        self.lines = tuple(lines)
        self.sets = tuple(sets)
        self.tail = tuple(tail)
        self._ends = list(accumulate(s.reps for s in sets))
        self._finite = self._ends[-1] if self._ends else 0
        self._tail_ends = list(accumulate(s.reps for s in tail))
        self._round = self._tail_ends[-1] if tail else 0
        self.total: int | None = None if tail else self._finite
        self._line_ends = self._cumulative_line_reps()
        self._weight_ends = list(accumulate(s.reps * s.line.weight for s in sets))
        self._round_weight = sum(s.reps * s.line.weight for s in tail)

    def _weight(self, line: Line) -> int:
        """Weight of a rep: 1, or tenths of reference seconds."""
        if not self.weighted:
            return 1
        units = line.units_per_rep or line.count or 1
        if line.unit is Unit.SECONDS:
            return units * 10
        known = catalogue.find(line.movement)
        if line.unit is Unit.METRES:
            metre = known.seconds if known else SECONDS_PER_METRE
            return max(1, round(units * metre * 10))
        return max(1, round((known.seconds if known else USUAL_SECONDS) * 10))

    def _cumulative_line_reps(self) -> list[tuple[int, ...]]:
        """Reps by line before each finite set, and at the end of the last."""
        counts = [0] * len(self.lines)
        table = [tuple(counts)]
        if len(self.sets) * len(self.lines) > 200_000:
            return table  # a very long course counts on demand instead
        for course_set in self.sets:
            counts[course_set.line.index] += course_set.reps
            table.append(tuple(counts))
        return table

    @property
    def is_endless(self) -> bool:
        """Whether the course closes with an AMRAP."""
        return bool(self.tail)

    @property
    def round_reps(self) -> int:
        """Raw reps of one round of the closing AMRAP, 0 when there is none."""
        return self._round

    @property
    def amrap_start(self) -> int:
        """Raw reps of everything before the closing AMRAP."""
        return self._finite

    def set_at(self, index: int) -> CourseSet:
        """The set number ``index`` from 0, of any round of the AMRAP too.

        Raises
        ------
        PlaceError
            When the finite course has no such set.
        """
        if 0 <= index < len(self.sets):
            return self.sets[index]
        if index < 0 or not self.tail:
            raise PlaceError(f"The course has {len(self.sets)} sets.")
        rounds, position = divmod(index - len(self.sets), len(self.tail))
        base = self.tail[position]
        one_side = self.workout_block(base.block).one_side_per_round
        return CourseSet(
            index, base.block, rounds + 1, base.line, base.reps, base.count,
            one_side and rounds % 2 == 1,
        )  # fmt: skip

    def workout_block(self, number: int) -> Block:
        """The block with this number on the course (from 1)."""
        if not 1 <= number <= len(self.blocks):
            raise PlaceError(f"The course has {len(self.blocks)} blocks, there is no {number}.")
        return self.blocks[number - 1].block

    def place(self, raw: int) -> Place:
        """The place after ``raw`` reps; the finish is the start of the set after the last.

        Raises
        ------
        PlaceError
            When ``raw`` is negative or beyond the course.
        """
        if raw < 0:
            raise PlaceError("Reps cannot be negative.")
        if raw > MAX_RAW_REPS:
            raise PlaceError(f"More than {MAX_RAW_REPS} reps cannot be right.")
        if raw < self._finite:
            index = bisect_right(self._ends, raw)
            return Place(index, raw - (self._ends[index - 1] if index else 0))
        if not self.tail:
            if raw == self._finite:
                return Place(len(self.sets), 0)
            raise PlaceError(f"The whole course has {self._finite} reps.")
        rounds, into = divmod(raw - self._finite, self._round)
        position = bisect_right(self._tail_ends, into)
        done = self._tail_ends[position - 1] if position else 0
        return Place(len(self.sets) + rounds * len(self.tail) + position, into - done)

    def raw(self, place: Place) -> int:
        """Raw reps at a place; ``reps`` may be the whole set, which is the next set's start.

        Raises
        ------
        PlaceError
            When the place is not on the course.
        """
        index, reps = place.index, place.reps
        if not self.tail and index == len(self.sets) and reps == 0:
            return self._finite
        course_set = self.set_at(index)
        if not 0 <= reps <= course_set.reps:
            raise PlaceError(
                f"That set has {course_set.reps} reps of {course_set.line.line.movement}; "
                f"{reps} cannot be right."
            )
        if index < len(self.sets):
            before = self._ends[index - 1] if index else 0
        else:
            rounds, position = divmod(index - len(self.sets), len(self.tail))
            before = self._finite + rounds * self._round
            before += self._tail_ends[position - 1] if position else 0
        if before + reps > MAX_RAW_REPS:
            raise PlaceError(f"More than {MAX_RAW_REPS} reps cannot be right.")
        return before + reps

    def place_at(self, *, block: int, round: int, position: int, reps: int) -> Place:
        """The place named by block, rung or round, movement (all from 1) and reps done."""
        kind = self.workout_block(block)
        if not 1 <= position <= len(kind.lines):
            raise PlaceError(f"Block {block} has {len(kind.lines)} movements.")
        rounds = len(kind.rungs) or kind.rounds
        if round < 1 or (kind.kind is not BlockKind.AMRAP and round > rounds):
            raise PlaceError(f"Block {block} has {rounds} rounds.")
        first = self.blocks[block - 1].first_set
        place = Place(first + (round - 1) * len(kind.lines) + position - 1, reps)
        return self.place(self.raw(place))

    def block_end(self, block: int) -> int:
        """Raw reps at a finite block's end."""
        self.workout_block(block)
        if block < len(self.blocks):
            return self.blocks[block].start
        if self.tail:
            raise PlaceError("The AMRAP has no end to take a split at.")
        return self._finite

    def line_reps(self, raw: int) -> tuple[int, ...]:
        """Raw reps of each line (in the order of ``lines``) among the first ``raw``."""
        place = self.place(raw)
        if place.index <= len(self.sets) and len(self._line_ends) > place.index:
            counts = list(self._line_ends[place.index])
        else:
            counts = [0] * len(self.lines)
            whole, extra = divmod(max(0, place.index - len(self.sets)), len(self.tail) or 1)
            for course_set in self.sets[: place.index]:
                counts[course_set.line.index] += course_set.reps
            for position, course_set in enumerate(self.tail):
                counts[course_set.line.index] += course_set.reps * (whole + (position < extra))
        if place.reps:
            counts[self.set_at(place.index).line.index] += place.reps
        return tuple(counts)

    def sides(self, line: int, reps: int) -> tuple[int, int] | None:
        """Reps on the starting and on the other side after ``reps`` of a line in all.

        ``None`` for a movement that has no sides here. In a ``one side per round``
        block whole rounds take turns.
        """
        course_line = self.lines[line]
        if course_line.line.alternating:
            return (reps + 1) // 2, reps // 2
        block = self.workout_block(course_line.block)
        if course_line.line.per_side:
            per_set = [s.reps for s in (*self.sets, *self.tail) if s.line.index == line]
            starting = 0
            left = reps
            if block.kind is BlockKind.AMRAP:
                full, left = divmod(reps, per_set[0])
                starting = full * (per_set[0] // 2)
                per_set = per_set[:1]
            for size in per_set:
                done = min(left, size)
                starting += min(done, size // 2)
                left -= done
            return starting, reps - starting
        if block.one_side_per_round:
            size = course_line.line.raw_reps(course_line.line.count or 1)
            full, left = divmod(reps, size)
            starting = (full + 1) // 2 * size + (left if full % 2 == 0 else 0)
            return starting, reps - starting
        return None

    def raw_of_set(self, index: int) -> int:
        """Raw reps at the start of a set."""
        return self.raw(Place(index, 0))

    def weight_before(self, index: int) -> int:
        """Weighted reps of all sets before set ``index`` (reps where nothing is weighed)."""
        if index <= len(self.sets):
            return self._weight_ends[index - 1] if index else 0
        rounds, position = divmod(index - len(self.sets), len(self.tail))
        before = self._weight_ends[-1] if self._weight_ends else 0
        part = sum(s.reps * s.line.weight for s in self.tail[:position])
        return before + rounds * self._round_weight + part

    @property
    def total_weight(self) -> int | None:
        """Weighted reps of the whole course; ``None`` when it is endless."""
        return None if self.tail else (self._weight_ends[-1] if self._weight_ends else 0)

    def place_by_weight(self, amount: Fraction) -> tuple[Place, Fraction]:
        """The place that ``amount`` weighted reps reach, and the part of the next rep.

        Returns
        -------
        place, part
            The whole reps, and the share (0 ≤ part < 1) of the rep under way.
        """
        finite = self._weight_ends[-1] if self._weight_ends else 0
        if amount < finite:
            index = bisect_right(self._weight_ends, amount)
        elif not self.tail:
            return Place(len(self.sets), 0), Fraction(0)
        else:
            rounds = (amount - finite) // self._round_weight
            index = len(self.sets) + int(rounds) * len(self.tail)
            while amount >= self.weight_before(index + 1):
                index += 1
        course_set = self.set_at(index)
        reps = (amount - self.weight_before(index)) / course_set.line.weight
        whole = int(reps)
        return Place(index, whole), reps - whole

    def describe(self, place: Place, part: Fraction = Fraction(0)) -> str:
        """A place in words: ``2 rounds + 9``, ``block 2, rung of 10, 6 push-ups done``."""
        more = f".{int(part * 10)}" if part * 10 >= 1 else ""
        if self.tail and place.index >= len(self.sets):
            rounds, position = divmod(place.index - len(self.sets), len(self.tail))
            reps = (self._tail_ends[position - 1] if position else 0) + place.reps
            return f"{rounds} round{'' if rounds == 1 else 's'} + {reps}{more}"
        if place.index == len(self.sets):
            return "finished"
        course_set = self.set_at(place.index)
        movement = course_set.line.line.movement
        rest = f" and 0{more} of the next" if more else ""
        return f"{self.where(course_set)}, {place.reps} {movement} done{rest}"

    def where(self, course_set: CourseSet) -> str:
        """Which rung, round or interval of which block a set belongs to, in words."""
        block = self.workout_block(course_set.block)
        prefix = f"block {course_set.block}, " if len(self.blocks) > 1 else ""
        if block.kind is BlockKind.LADDER:
            rung = block.rungs[course_set.round - 1]
            same = [i for i, r in enumerate(block.rungs, 1) if r == rung]
            nth = f" (number {course_set.round})" if len(same) > 1 else ""
            return f"{prefix}rung of {rung}{nth}"
        if block.kind is BlockKind.INTERVALS:
            return f"{prefix}interval {course_set.round}"
        if block.for_time and block.rounds == 1:
            return prefix.removesuffix(", ") or "the course"
        return f"{prefix}round {course_set.round}"
