"""What a good colleague would say of a plan: the numbers, and what would mend it.

Nothing here knows what is safe for anybody, and no threshold pretends to: a remark says
how a plan compares with what was written or done before, and the coach decides.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import ceil

from . import catalogue
from .course import Course
from .credits import Choice, CreditTable, credit_for
from .figures import figure
from .pacing import rough
from .prescription import BlockKind, Workout, clock_text
from .reference import SAME
from .totals import Asked, asked

AFTERWARDS = (
    "Very hard or unaccustomed exercise can break down muscle. Dark urine, severe muscle pain or "
    "weakness in the days after is an emergency: see a doctor the same day. Who may and should "
    "advise on it is somebody licensed to."
)
"""To be told with every jump in volume (Scalco and others 2016, BMJ Open Sport & Exercise
Medicine 2:e000151)."""

RUNNING = 3
"""So many classes in a row make a remark (common practice, no source)."""

ENOUGH = 6
"""Classes it takes until a movement can be new (common practice, no source)."""

SHOWN = 5
"""So many names are told."""

HALF = Fraction(1, 2)


class Kind(StrEnum):
    """How a remark is meant: a caution asks for care, a hint only helps."""

    CAUTION = "caution"
    HINT = "hint"


class About(StrEnum):
    """What a remark is about."""

    PATTERN = "pattern"
    VOLUME = "volume"
    NEW = "new movement"
    EASIER = "easier option"
    CREDIT = "credit"
    CAP = "cap"


@dataclass(frozen=True, slots=True)
class Remark:
    """``what`` stands out, ``why`` in numbers, what would ``mend`` it; ``words`` is a
    warning to go with it, empty for most."""

    about: About
    kind: Kind
    what: str
    why: str
    mend: str
    words: str = ""


# --- the same pattern again and again -------------------------------------------


@dataclass(frozen=True, slots=True)
class Worked:
    """A class by what it worked: usual seconds of each pattern. ``name`` is as a coach
    knows it, ``Two ladders, 24 Nov``."""

    name: str
    seconds: Mapping[str, Fraction]


def _largest(seconds: Mapping[str, Fraction]) -> str:
    """The pattern with most of the work, empty for none."""
    working = {name: value for name, value in seconds.items() if value > 0}
    return min(working, key=lambda name: (-working[name], name)) if working else ""


def _share(seconds: Mapping[str, Fraction], pattern: str) -> str:
    total = sum(seconds.values(), Fraction(0))
    return f"{round(100 * seconds[pattern] / total)} %"


def pattern_again(planned: Mapping[str, Fraction], before: Sequence[Worked]) -> list[Remark]:
    """The pattern with most of the work in this class and in the ones right before it.

    ``before`` is newest first. At the third class running it is remarked.
    """
    pattern = _largest(planned)
    running = []
    for worked in before:
        if not pattern or _largest(worked.seconds) != pattern:
            break
        running.append(worked)
    if len(running) + 1 < RUNNING:
        return []
    told = "; ".join(f"{worked.name}: {_share(worked.seconds, pattern)}" for worked in running)
    others = [name for name in planned if name != pattern and planned[name] > 0]
    into = f", such as {others[0]}" if others else ""
    return [
        Remark(
            About.PATTERN,
            Kind.CAUTION,
            f"Most of the work is {pattern} for the {_nth(len(running) + 1)} class running.",
            f"By usual seconds {pattern} is {_share(planned, pattern)} here; before it, {told}.",
            f"Move some of the {pattern} work to another pattern{into}, or take load off it.",
        )
    ]


def _nth(number: int) -> str:
    return {3: "third", 4: "fourth", 5: "fifth", 6: "sixth"}.get(number, f"{number}th")


# --- more reps than people are used to --------------------------------------------


@dataclass(frozen=True, slots=True)
class Past:
    """What a member did of a movement itself: ``reps`` of every class they did any in."""

    name: str
    reps: tuple[int, ...]

    @property
    def average(self) -> Fraction:
        return Fraction(sum(self.reps), len(self.reps))

    @property
    def most(self) -> int:
        return max(self.reps)


@dataclass(frozen=True, slots=True)
class Compared:
    """A planned volume beside what the group has done of that movement.

    ``average`` is of the members' own averages a class; ``ratio`` the plan to it.
    ``beyond`` are members for whom it is more than they ever did in a class, with the ratio
    of the plan to their own average, the highest first.
    """

    movement: str
    planned: int
    members: int
    average: Fraction
    ratio: Fraction
    beyond: tuple[tuple[str, Fraction], ...]


def compare(movement: str, planned: int, past: Sequence[Past]) -> Compared | None:
    """A volume against the group's own; ``None`` where nobody has done the movement."""
    done = [each for each in past if each.reps and each.average > 0]
    if not done:
        return None
    average = sum((each.average for each in done), Fraction(0)) / len(done)
    beyond = [(each.name, planned / each.average) for each in done if planned > each.most]
    beyond.sort(key=lambda pair: (-pair[1], pair[0]))
    return Compared(movement, planned, len(done), average, planned / average, tuple(beyond))


MANY_TIMES = 100
"""From there on a ratio says no more than that it is far more."""


def times(ratio: Fraction) -> str:
    """``3.8 times``, ``24 times``; past a hundred only that."""
    if ratio > MANY_TIMES:
        return f"over {MANY_TIMES} times"
    return f"{figure(ratio, most=0 if ratio >= 10 else 1)} times"


def volume_jump(found: Compared, *, is_guess: bool = False) -> list[Remark]:
    """A caution where at least half of those with results would go beyond their own most.

    Half is where it stops being about single members; it says nothing of what is safe.
    """
    if len(found.beyond) * 2 < found.members:
        return []
    names = ", ".join(f"{name} ({times(ratio)})" for name, ratio in found.beyond[:SHOWN])
    more = len(found.beyond) - SHOWN
    rest = f" and {more} more" if more > 0 else ""
    people = "The 1 member" if found.members == 1 else f"The {found.members} members"
    has = "has" if found.members == 1 else "have"
    few = " So few people say little of the others." if found.members < SHOWN else ""
    average = figure(found.average, most=1)
    return [
        Remark(
            About.VOLUME,
            Kind.CAUTION,
            f"{'About ' if is_guess else ''}{found.planned:,} {found.movement} is "
            f"{times(found.ratio)} the average of {average} a class here.",
            f"{people} who {has} done it average {average}; for {len(found.beyond)} of them it is "
            "more than they ever did in one class. Highest against their own average: "
            f"{names}{rest}.{few}",
            "Write fewer, offer an easier option, or tell them to stop well before the last rep "
            "they could do.",
            AFTERWARDS,
        )
    ]


def new_here(planned: Mapping[str, int], seen: Collection[str], classes: int) -> list[Remark]:
    """Movements that nobody has done in the last ``classes`` classes; ``seen`` were done.

    Where few classes were held nearly all is new, and nothing is said of it.
    """
    names = [name for name, reps in planned.items() if reps and name not in seen]
    if not names or classes < ENOUGH:
        return []
    told = ", ".join(f"{name} ({planned[name]:,} reps)" for name in names)
    is_one = len(names) == 1
    return [
        Remark(
            About.NEW,
            Kind.CAUTION,
            f"{names[0]} is new here." if is_one else f"{len(names)} movements are new here.",
            f"Nobody has done {'it' if is_one else 'them'} in the last {classes} classes: {told}.",
            "Show it before the class, begin with few reps, and offer something they know.",
            AFTERWARDS,
        )
    ]


# --- options and credits -------------------------------------------------------------


def no_easier_option(course: Course) -> list[Remark]:
    """Movements without any option, for which something easier is known, or nothing at all.

    A movement that the catalogue knows and has nothing easier for is easy enough.
    """
    bare: dict[str, tuple[str, ...] | None] = {}
    for line in course.lines:
        known = catalogue.find(line.line.movement)
        if not line.line.options and (known is None or known.easier):
            bare[line.line.movement] = known.easier if known else None
    if not bare:
        return []
    names = list(bare)
    is_one = len(names) == 1
    ways = [f"“or {easier[0]}” below {name}" for name, easier in bare.items() if easier]
    return [
        Remark(
            About.EASIER,
            Kind.HINT,
            f"{names[0]} has no easier option."
            if is_one
            else f"{len(names)} movements have no easier option.",
            "Who can't do it has nothing to choose and no credit for what they do instead."
            if is_one
            else f"They are {', '.join(names)}. Who can't do one has nothing to choose.",
            f"Write {ways[0]}." if ways else "Write one below it: “or”, and its name.",
        )
    ]


def no_credit(course: Course, table: CreditTable, *, above_one: bool = False) -> list[Remark]:
    """Options for which nobody has said what a rep counts."""
    found = []
    for line in course.lines:
        for number, option in enumerate(line.line.options):
            credit, source = credit_for(
                line, Choice(line.index, number), table, above_one=above_one
            )
            if source.startswith("usual figure"):
                found.append((option.label, credit))
    if not found:
        return []
    labels = list(dict.fromkeys(label for label, _ in found))
    usual = figure(found[0][1], most=4)
    is_one = len(labels) == 1
    return [
        Remark(
            About.CREDIT,
            Kind.HINT,
            f"{labels[0]} has no credit."
            if is_one
            else f"{len(labels)} options have no credit: {', '.join(labels)}.",
            f"Nobody has set what a rep counts, so it is {usual}, the usual figure.",
            f"Write “or {labels[0]}, credit {usual}”, with what you find fair, or leave it.",
        )
    ]


# --- the cap ------------------------------------------------------------------------


def cap_remarks(workout: Workout, speed: Fraction | None = None) -> list[Remark]:
    """A cap that the work can't fill or that can't fit it, by usual seconds.

    ``speed`` is the group's own against them, ``None`` where it isn't known.
    """
    course = Course(workout)
    if course.limit is None or not course.blocks:
        return []
    plan, cap = asked(workout), clock_text(course.limit)
    if course.workout_block(1).kind is BlockKind.INTERVALS:
        return _interval_remarks(course, plan)
    work = clock_text(rough(plan.seconds))
    if course.is_endless:
        return _amrap_remarks(course, workout, plan, cap)
    if plan.stopped is not None:
        where = course.describe(plan.stopped)
        minutes = -(-plan.seconds // 60) * 60
        return [
            Remark(
                About.CAP,
                Kind.HINT,
                f"The work does not fit into the cap of {cap}.",
                f"At the usual pace it takes about {_longer(plan.seconds, course.limit)}: the "
                f"clock stops at {where}.",
                f"A cap of {clock_text(minutes)} would fit it, or write less. Leave it if "
                "everybody is meant to be stopped.",
            )
        ]
    if plan.seconds < course.limit * HALF and not _is_filled(workout, speed):
        return [
            Remark(
                About.CAP,
                Kind.HINT,
                f"The work does not fill the cap of {cap}.",
                f"At the usual pace it is done at about {work}, with more than half of the time "
                f"left{_at_speed(workout, speed)}.",
                f"A cap of {clock_text(-(-plan.seconds * 2 // 60) * 60)} leaves twice the usual "
                "time, or let an amrap in the time left follow.",
            )
        ]
    return []


def _longer(seconds: Fraction, bound: int) -> str:
    """A rough time that is over a bound: as finely told as it takes to see that."""
    told = rough(seconds)
    return clock_text(told if told > bound else ceil(seconds))


def _is_filled(workout: Workout, speed: Fraction | None) -> bool:
    """Whether a group of this speed needs half of the cap or more."""
    if not speed:
        return False
    return asked(workout, speed).takes >= (workout.time_limit or 0) * HALF


def _at_speed(workout: Workout, speed: Fraction | None) -> str:
    if not speed or speed == SAME:
        return ""
    takes = asked(workout, speed).takes
    return f"; at this group's own pace at about {clock_text(rough(takes))}"


def _amrap_remarks(course: Course, workout: Workout, plan: Asked, cap: str) -> list[Remark]:
    if plan.stopped is None or plan.stopped.index >= len(course.sets) + len(course.tail):
        return []
    if plan.stopped.index < len(course.sets):
        return [
            Remark(
                About.CAP,
                Kind.HINT,
                f"The AMRAP is not reached before the cap of {cap}.",
                f"The blocks before it take about {clock_text(rough(plan.seconds))} at the usual "
                "pace.",
                f"A cap of {clock_text(-(-plan.seconds // 60) * 60)} only just reaches it: raise "
                "it further, or write less before it.",
            )
        ]
    round_seconds = _round_seconds(workout)
    return [
        Remark(
            About.CAP,
            Kind.HINT,
            "Not one whole round of the AMRAP fits.",
            f"A round takes about {clock_text(rough(round_seconds))} at the usual pace, and "
            f"{clock_text(rough(max(Fraction(0), (course.limit or 0) - plan.seconds)))} are left.",
            "Write a shorter round or a longer cap, or boards will be decided in the first round.",
        )
    ]


def _round_seconds(workout: Workout) -> Fraction:
    course = Course(workout, weighted=True)
    return Fraction(sum(s.reps * s.line.weight for s in course.tail), 10)


def _interval_remarks(course: Course, plan: Asked) -> list[Remark]:
    length = course.blocks[0].block.seconds or 0
    if plan.seconds <= length:
        return []
    return [
        Remark(
            About.CAP,
            Kind.HINT,
            f"The work does not fit into an interval of {clock_text(length)}.",
            f"At the usual pace it takes about {_longer(plan.seconds, length)}.",
            f"Intervals of {clock_text(-(-plan.seconds // 10) * 10)} would fit it, or write less.",
        )
    ]
