"""The log form as its template draws it: sets to pick, options to choose, what was typed."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import groupby

from scoring.core.body import AREAS
from scoring.core.course import MAX_SET_REPS, Course, CourseBlock, CourseLine, CourseSet
from scoring.core.credits import Choice, credit_for
from scoring.core.figures import figure
from scoring.core.marks import examples
from scoring.core.prescription import BlockKind
from scoring.core.scoring import Rules
from scoring.problems import Item

from .log_read import Typed, is_counted, load_unit, minutes
from .strip import block_title, set_words

MOST_PICKS = 160
"""Where a course has more sets to pick from than this, the mark is written."""

SHARES = 8

WRITTEN = ("mark", "time", "reps", "load", "options", "note", "hurts-words", "words")
"""Fields the templates name; a name a template can't find would be told as it stands."""

EFFORTS = (
    "0 – resting",
    "1 – could sing",
    "2 – could chat on and on",
    "3 – chatting, and a bit warm",
    "4 – full sentences still",
    "5 – short sentences",
    "6 – a few words at a time",
    "7 – single words",
    "8 – no talking",
    "9 – could only just keep form",
    "10 – had to slow down or stop",
)


@dataclass(frozen=True, slots=True)
class Pick:
    """A set to tap. ``share`` is its part of the row's width, ``most`` its reps."""

    value: str
    words: str
    share: int
    most: int
    is_picked: bool


@dataclass(frozen=True, slots=True)
class PickRow:
    label: str
    picks: tuple[Pick, ...]


@dataclass(frozen=True, slots=True)
class PickBlock:
    """A block's sets; ``rounds_name`` is set where full rounds are counted by number."""

    title: str
    rows: tuple[PickRow, ...]
    rounds_name: str
    rounds: str
    rounds_most: int | None


@dataclass(frozen=True, slots=True)
class Chip:
    value: str
    label: str
    credit: str
    is_picked: bool


@dataclass(frozen=True, slots=True)
class OptionLine:
    """How a line was done: as prescribed, an option, another load."""

    index: int
    movement: str
    where: str
    chips: tuple[Chip, ...]
    unit: str
    own: str
    part: str
    unbroken: str
    is_asked: bool


@dataclass(frozen=True, slots=True)
class Number:
    """A numbered field of its own: an interval's reps, a block's split."""

    name: str
    label: str
    value: str


@dataclass(frozen=True, slots=True)
class LogFields:
    """Everything a log form shows, with what was typed and what was wrong with it."""

    kind: str
    key: str
    examples: str
    cap: str
    can_finish: bool
    blocks: tuple[PickBlock, ...]
    intervals: tuple[Number, ...]
    lines: tuple[OptionLine, ...]
    splits: tuple[Number, ...]
    efforts: tuple[Chip, ...]
    typed: Typed
    load_asked: str = ""
    has_tie_break: bool = False
    hurts: tuple[Chip, ...] = ()
    items: tuple[Item, ...] = ()
    faults: dict[str, str] = field(default_factory=dict)

    @property
    def has_rounds(self) -> bool:
        """Whether full rounds are counted by number somewhere."""
        return any(block.rounds_name for block in self.blocks)

    @property
    def load_unit(self) -> str:
        """The unit of a lift, whose field's name a template can't write."""
        return self.typed.get("load-unit", "kg")

    @property
    def load_reps(self) -> str:
        """The reps of a lift, those asked for unless others were typed."""
        return self.typed.get("load-reps", "") or self.load_asked

    @property
    def chosen_lines(self) -> tuple[OptionLine, ...]:
        """Lines with more than one way to do them, or whose way must be said."""
        return tuple(line for line in self.lines if len(line.chips) > 1 or line.is_asked)

    @property
    def hurts_words(self) -> str:
        """Words on what hurts, whose field's name a template can't write."""
        return self.typed.get("hurts-words", "")

    @property
    def is_hurts_open(self) -> bool:
        """Whether something is told to hurt, or told wrongly."""
        told = any(chip.is_picked for chip in self.hurts) or self.hurts_words
        return bool(told) or bool({"hurts", "hurts_words"} & set(self.faults))

    @property
    def is_more_open(self) -> bool:
        """Whether something in the folded part is filled in or wrong."""
        names = ("note", "effort", "options", *(split.name for split in self.splits))
        wrong = {"note", "effort", "splits"} & set(self.faults)
        noted = any(line.unbroken for line in self.lines)
        return (
            bool(wrong)
            or noted
            or self.has_tie_break
            or any(self.typed.get(name) for name in names)
        )


def log_fields(
    course: Course, rules: Rules, typed: Typed, *, key: str, items: list[Item] | None = None
) -> LogFields:
    """The form of a course."""
    kind = course.workout_block(1).kind
    faults: dict[str, str] = {}
    for item in items or []:
        said = f"{item.problem} {item.suggestion}".strip()
        column = "options" if item.column.startswith(("choices.", "unbroken.")) else item.column
        faults[column] = f"{faults[column]} {said}" if column in faults else said
    by_taps = kind not in (BlockKind.MAX_LOAD, BlockKind.INTERVALS)
    return LogFields(
        kind={BlockKind.MAX_LOAD: "load", BlockKind.INTERVALS: "intervals"}.get(kind, "course"),
        key=key,
        examples=examples(course),
        cap=minutes(course.limit),
        can_finish=by_taps and not course.is_endless,
        blocks=_blocks(course, typed) if by_taps else (),
        intervals=_intervals(course, typed) if kind is BlockKind.INTERVALS else (),
        lines=tuple(_line(course, rules, line, typed) for line in course.lines),
        splits=_splits(course, rules, typed) if by_taps else (),
        has_tie_break=bool(by_taps and rules.tie_break_block),
        efforts=tuple(
            Chip(str(n), words, "", typed.get("effort") == str(n))
            for n, words in enumerate(EFFORTS)
        ),
        typed={**dict.fromkeys(WRITTEN, ""), **typed},
        load_asked=str(course.blocks[0].block.reps or ""),
        hurts=tuple(
            Chip(f"hurts-{n}", area, "", bool(typed.get(f"hurts-{n}")))
            for n, area in enumerate(AREAS)
        ),
        items=tuple(items or ()),
        faults=faults,
    )


def _blocks(course: Course, typed: Typed) -> tuple[PickBlock, ...]:
    blocks = [_block(course, block, typed) for block in course.blocks]
    if sum(len(row.picks) for block in blocks for row in block.rows) > MOST_PICKS:
        return ()
    return tuple(blocks)


def _block(course: Course, block: CourseBlock, typed: Typed) -> PickBlock:
    counted = is_counted(course, block.number)
    endless = block.block.kind is BlockKind.AMRAP
    sets = course.tail if endless else course.sets[block.first_set :]
    own = [s for s in sets if s.block == block.number]
    if counted:
        own = own[: len(block.block.lines)]
    rows = []
    for number, grouped in groupby(own, key=lambda s: s.round):
        label = str(block.block.rungs[number - 1]) if block.block.rungs else str(number)
        tells_itself = len(set(block.block.rungs)) == len(block.block.rungs) > 0
        if counted or tells_itself or (block.block.rounds == 1 and not block.block.rungs):
            label = ""  # a rung's number already stands in each of its sets
        rows.append(PickRow(label, _picks(list(grouped), "n" if counted else str(number), typed)))
    name = f"rounds-{block.number}"
    return PickBlock(
        title=block_title(course, block),
        rows=tuple(rows),
        rounds_name=name if counted else "",
        rounds=typed.get(name, ""),
        rounds_most=None if endless else block.block.rounds - 1,
    )


def _picks(sets: list[CourseSet], round_text: str, typed: Typed) -> tuple[Pick, ...]:
    most = max(s.reps for s in sets)
    picks = []
    for course_set in sets:
        value = f"{course_set.block}.{round_text}.{course_set.line.position}"
        picks.append(
            Pick(
                value=value,
                words=set_words(course_set).removesuffix(", other side"),
                share=max(1, round(SHARES * course_set.reps / most)),
                most=course_set.reps,
                is_picked=typed.get("place") == value,
            )
        )
    return tuple(picks)


def _intervals(course: Course, typed: Typed) -> tuple[Number, ...]:
    size = sum(s.reps for s in course.sets[: len(course.lines)])
    of = "" if size >= MAX_SET_REPS else f", of {size}"
    return tuple(
        Number(f"interval-{n}", f"Interval {n}{of}", typed.get(f"interval-{n}", ""))
        for n in range(1, course.blocks[0].block.rounds + 1)
    )


def _line(course: Course, rules: Rules, line: CourseLine, typed: Typed) -> OptionLine:
    is_asked = bool(typed.get(f"ask-{line.index}"))
    # Where nothing fits their gear nothing is chosen for them: it would count as done.
    picked = typed.get(f"opt-{line.index}", "?" if is_asked else "")
    load = line.line.load
    written = f"as prescribed, {load}" if load else "as prescribed"
    chips = [Chip("", written, "", picked == "")]
    for number, option in enumerate(line.line.options):
        credit, _ = credit_for(
            line, Choice(line.index, number), rules.table, above_one=rules.above_one
        )
        chips.append(Chip(str(number), option.label, figure(credit, most=4), picked == str(number)))
    takes_load = load is not None or any(option.load for option in line.line.options)
    if load is not None:
        chips.append(Chip("own", "another load", "", picked == "own"))
    return OptionLine(
        index=line.index,
        movement=line.line.movement,
        where=f"block {line.block}" if len(course.blocks) > 1 else "",
        chips=tuple(chips),
        unit=load_unit(line) if takes_load else "",
        own=typed.get(f"own-{line.index}", ""),
        part=typed.get(f"part-{line.index}", ""),
        unbroken=typed.get(f"unbroken-{line.index}", ""),
        is_asked=is_asked,
    )


def _splits(course: Course, rules: Rules, typed: Typed) -> tuple[Number, ...]:
    """A field for each block that ends before the mark can."""
    last = len(course.blocks)
    return tuple(
        Number(
            f"split-{block.number}",
            f"Clock at the end of {block_title(course, block)}"
            + (", which breaks ties" if block.number == rules.tie_break_block else ""),
            typed.get(f"split-{block.number}", ""),
        )
        for block in course.blocks
        if block.number < last
    )
