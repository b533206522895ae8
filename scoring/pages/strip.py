"""The course as a picture: a row for each rung or round, a bar for each set.

Bars are as long as their reps; a row may be squeezed so that it fits a phone. What a bar
says by its length and filling is said in words too.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from scoring.core.course import MAX_SET_REPS, Course, CourseBlock, CourseSet
from scoring.core.marks import Caught, Finished, IntervalReps, Mark
from scoring.core.prescription import Block, BlockKind, clock_text

WIDTH = 360
LABEL = 46
BARS = WIDTH - LABEL - 6
BAR_HEIGHT = 26
ROW_HEIGHT = 36
LEAST = 14
LETTER = 7.2
SHOWN_ROWS = 12


@dataclass(frozen=True, slots=True)
class Bar:
    """One set: where it lies, how much of it is filled, and its words."""

    x: int
    width: int
    done: int
    text: str
    text_x: int
    told: str


@dataclass(frozen=True, slots=True)
class Row:
    """A rung, a round or an interval."""

    label: str
    y: int
    text_y: int
    height: int
    sets: tuple[Bar, ...]
    stop: int | None
    stop_top: int
    stop_end: int


@dataclass(frozen=True, slots=True)
class Picture:
    """A block with its rows. ``more`` says what was left out."""

    title: str
    caption: str
    told: str
    width: int
    height: int
    rows: tuple[Row, ...]
    more: str


@dataclass(frozen=True, slots=True)
class Strip:
    blocks: tuple[Picture, ...]
    stopped: str


@dataclass(frozen=True, slots=True)
class _Round:
    """Sets drawn in one row. ``done`` are the reps of each; ``times`` rounds look alike."""

    label: str
    sets: tuple[CourseSet, ...]
    done: tuple[int, ...]
    times: int = 1
    holds_stop: bool = False


def block_title(course: Course, block: CourseBlock) -> str:
    """What a block is, in the board's own words."""
    prefix = f"Block {block.number}: " if len(course.blocks) > 1 else ""
    title = prefix + _kind(block.block)
    return title[0].upper() + title[1:]


def _kind(block: Block) -> str:
    if block.kind is BlockKind.LADDER:
        return "-".join(map(str, block.rungs))
    if block.kind is BlockKind.AMRAP:
        length = f"for {clock_text(block.seconds)}" if block.seconds else "in the time left"
        return f"as many rounds as possible {length}"
    if block.kind is BlockKind.INTERVALS:
        return f"every {clock_text(block.seconds or 0)} for {block.rounds} rounds"
    if block.kind is BlockKind.MAX_LOAD:
        return f"heaviest load for {block.reps} reps"
    if block.for_time:
        return "for time"
    return f"{block.rounds} round{'' if block.rounds == 1 else 's'}"


def set_words(course_set: CourseSet) -> str:
    """``12 hollow rock``; a set without an end is ``max``."""
    line = course_set.line.line
    unit = {"metres": " m", "seconds": " s", "calories": " cal"}.get(line.unit.value, "")
    count = "max" if course_set.count == MAX_SET_REPS else f"{course_set.count}{unit}"
    side = " a side" if line.per_side else ""
    other = ", other side" if course_set.other_side else ""
    return f"{count} {line.movement}{side}{other}"


def strip(course: Course, mark: Mark | None = None) -> Strip:
    """The picture of a course, with how far ``mark`` got where there is one."""
    pictures = []
    widest = _widest(course)
    for block in course.blocks:
        rounds = _rounds(course, block, mark)
        pictures.append(_picture(course, block, rounds, widest))
    return Strip(tuple(pictures), _stopped(course, mark))


def _stopped(course: Course, mark: Mark | None) -> str:
    if not isinstance(mark, Caught) or not course.blocks:
        return ""
    if course.workout_block(1).kind is BlockKind.INTERVALS:
        return ""
    return f"where the clock stopped, {course.describe(course.place(mark.reps))}."


def _sets_of(course: Course, block: CourseBlock) -> tuple[CourseSet, ...]:
    if block.block.kind is BlockKind.AMRAP:
        return course.tail
    return tuple(s for s in course.sets[block.first_set :] if s.block == block.number)


def _rounds(course: Course, block: CourseBlock, mark: Mark | None) -> list[_Round]:
    if block.block.kind is BlockKind.AMRAP:
        return _amrap_rounds(course, mark)
    rounds = []
    for number, grouped in groupby(_sets_of(course, block), key=lambda s: s.round):
        sets = tuple(grouped)
        done, holds = _done(course, sets, number, mark)
        label = str(block.block.rungs[number - 1]) if block.block.rungs else str(number)
        if len(course.sets) == len(sets) and not block.block.rungs:
            label = ""
        rounds.append(_Round(label, sets, done, holds_stop=holds))
    return rounds


def _done(
    course: Course, sets: tuple[CourseSet, ...], number: int, mark: Mark | None
) -> tuple[tuple[int, ...], bool]:
    """Reps done of each set of a round, and whether the clock stopped in it."""
    if isinstance(mark, Finished):
        return tuple(s.reps for s in sets), False
    if isinstance(mark, IntervalReps):
        left = mark.reps[number - 1] if number <= len(mark.reps) else 0
        done = []
        for course_set in sets:
            done.append(min(left, course_set.reps))
            left -= done[-1]
        return tuple(done), False
    if not isinstance(mark, Caught) or course.workout_block(1).kind is BlockKind.INTERVALS:
        return (0,) * len(sets), False
    place = course.place(mark.reps)
    counts = []
    for course_set in sets:
        here = place.reps if course_set.index == place.index else 0
        counts.append(course_set.reps if course_set.index < place.index else here)
    return tuple(counts), sets[0].index <= place.index <= sets[-1].index


def _amrap_rounds(course: Course, mark: Mark | None) -> list[_Round]:
    tail = course.tail
    nothing = (0,) * len(tail)
    if not isinstance(mark, Caught) or mark.reps < course.amrap_start:
        return [_Round("round", tail, nothing)]
    whole, left = divmod(mark.reps - course.amrap_start, course.round_reps)
    full = tuple(s.reps for s in tail)
    rounds = [_Round(str(n), tail, full) for n in range(1, whole + 1)]
    if whole > 5:
        rounds = [_Round(f"1–{whole}", tail, full, times=whole)]
    done = []
    for course_set in tail:
        done.append(min(left, course_set.reps))
        left -= done[-1]
    return [*rounds, _Round(str(whole + 1), tail, tuple(done), holds_stop=True)]


def _size(course_set: CourseSet) -> int:
    return 40 if course_set.count == MAX_SET_REPS else course_set.reps


def _widest(course: Course) -> int:
    """Reps of the longest row, so that all rows share one scale."""
    longest = 1
    for _, grouped in groupby((*course.sets, *course.tail), key=lambda s: (s.block, s.round)):
        longest = max(longest, sum(map(_size, grouped)))
    return longest


def _picture(course: Course, block: CourseBlock, rounds: list[_Round], widest: int) -> Picture:
    shown, more = _window(rounds)
    movements = [line.movement for line in block.block.lines]
    told = f"{block_title(course, block)}. " + " ".join(map(_told, shown))
    return Picture(
        title=block_title(course, block),
        caption=", then ".join(movements[:12]),
        told=told,
        width=WIDTH,
        height=ROW_HEIGHT * len(shown) + 4,
        rows=tuple(_row(r, i, widest) for i, r in enumerate(shown)),
        more=more,
    )


def _told(drawn: _Round) -> str:
    done, of = sum(drawn.done), sum(map(_size, drawn.sets))
    names = ", ".join(set_words(s) for s in drawn.sets[:12])
    state = f": {done * drawn.times} of {of * drawn.times} reps done" if done else ""
    return f"{drawn.label or 'One round'} ({names}){state}."


def _window(rounds: list[_Round]) -> tuple[list[_Round], str]:
    """The rows around the stop, or the first ones, where there are many."""
    if len(rounds) <= SHOWN_ROWS:
        return rounds, ""
    stop = next((i for i, r in enumerate(rounds) if r.holds_stop), 0)
    start = max(0, min(stop - SHOWN_ROWS // 2, len(rounds) - SHOWN_ROWS))
    more = f"Rows {start + 1} to {start + SHOWN_ROWS} of {len(rounds)} are drawn."
    return rounds[start : start + SHOWN_ROWS], more


def _row(drawn: _Round, position: int, widest: int) -> Row:
    widths = [max(LEAST, BARS * _size(s) // widest) for s in drawn.sets]
    if sum(widths) > BARS:
        widths = [max(2, w * BARS // sum(widths)) for w in widths]
    y = position * ROW_HEIGHT + 8
    x = LABEL
    bars: list[Bar] = []
    stop = None
    for course_set, width, done in zip(drawn.sets, widths, drawn.done, strict=True):
        filled = min(width, width * done // max(1, _size(course_set)))
        if drawn.holds_stop and stop is None and done < course_set.reps:
            stop = x + filled
        bars.append(_bar(course_set, x, width, filled, done, drawn.times))
        x += width
    return Row(
        label=drawn.label,
        y=y,
        text_y=y + BAR_HEIGHT // 2 + 5,
        height=BAR_HEIGHT,
        sets=tuple(bars),
        stop=stop,
        stop_top=y - 4,
        stop_end=y + BAR_HEIGHT + 3,
    )


def _bar(course_set: CourseSet, x: int, width: int, filled: int, done: int, times: int) -> Bar:
    words = set_words(course_set)
    number = words.split(" ", 1)[0]
    text = words if len(words) * LETTER + 8 < width else number
    if len(text) * LETTER + 4 > width:
        text = ""
    told = words + (f", {times} times" if times > 1 else "")
    if done:
        told += f": {done * times} reps done"
    return Bar(x, width, filled, text, x + 5, told)
