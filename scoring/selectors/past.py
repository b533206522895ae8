"""What a group did in its last classes: reps by member, options used, and its speed."""

from __future__ import annotations

from collections import Counter, OrderedDict, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from fractions import Fraction
from statistics import median

from scoring import access, mapping
from scoring.core.course import Course
from scoring.core.credits import CreditTable, parse_choices, portions
from scoring.core.marks import Lifted, parse_mark
from scoring.core.prescription import BlockKind
from scoring.core.scoring import line_counts
from scoring.core.suggestions import Used
from scoring.core.totals import rep_seconds
from scoring.models import Score, State, StreamedClass

LOOKED_AT = 36
"""So many of the gym's last classes are looked at."""

KEPT = 256
"""Classes of which what was done is kept in memory; it changes only with their version."""


@dataclass(slots=True)
class Done:
    """What was done in one class.

    ``reps`` by movement and member's key, of the movement itself and not of options for it;
    ``members`` and ``times`` of options used by (movement, label); ``speeds`` are usual
    seconds of work for each second of the clock, one for each result.
    """

    reps: dict[str, Counter[int]] = field(default_factory=lambda: defaultdict(Counter))
    used: dict[tuple[str, str], set[int]] = field(default_factory=lambda: defaultdict(set))
    speeds: list[Fraction] = field(default_factory=list)


_kept: OrderedDict[tuple[int, int, datetime], Done] = OrderedDict()


def classes_before(*, viewer: access.Viewer, before: datetime) -> list[StreamedClass]:
    """The gym's last classes before a time, the newest first, drafts not among them."""
    if not access.may_manage_gym(viewer):
        return []
    found = access.visible_classes(viewer).exclude(state=State.DRAFT)
    return list(
        found.filter(starts_at__lt=before)
        .select_related("workout", "gym")
        .order_by("-starts_at", "-pk")[:LOOKED_AT]
    )


def done_in(classes: Iterable[StreamedClass]) -> dict[int, Done]:
    """What was done in each of the classes, by the class's key."""
    by_key = {(c.pk, c.board_version, c.created_at): c for c in classes}
    missing = {c.pk: c for key, c in by_key.items() if key not in _kept}
    made: dict[int, Done] = {pk: Done() for pk in missing}
    if missing:
        rows = Score.objects.filter(streamed_class__in=missing).values_list(
            "streamed_class", "result__member", "fact__mark", "fact__options", "seconds"
        )
        for class_id, member, mark, options, seconds in rows:
            course = mapping.course(missing[class_id].workout.text, True)
            _add(made[class_id], course, member, mark, options, Fraction(seconds))
    found = {}
    for key, streamed in by_key.items():
        if streamed.pk in made:
            _kept[key] = made[streamed.pk]
        _kept.move_to_end(key)
        found[streamed.pk] = _kept[key]
    while len(_kept) > KEPT:
        _kept.popitem(last=False)
    return found


def _add(
    into: Done, course: Course, member: int, mark_text: str, options: str, seconds: Fraction
) -> None:
    mark = parse_mark(course, mark_text)
    counts = line_counts(course, mark)
    choices = parse_choices(course, options) if options else ()
    for portion in portions(course, counts, choices, _NO_TABLE):
        into.reps[portion.label.partition(" @ ")[0]][member] += portion.reps
    for choice in choices:
        if choice.option is not None:
            line = course.lines[choice.line].line
            into.used[line.movement, line.options[choice.option].label].add(member)
    if not isinstance(mark, Lifted) and seconds and _has_one_clock(course):
        work = sum(
            (reps * rep_seconds(line) for line, reps in zip(course.lines, counts, strict=True)),
            Fraction(0),
        )
        into.speeds.append(work / seconds)


_NO_TABLE = CreditTable()


def _has_one_clock(course: Course) -> bool:
    """Whether a course is work from start to stop, without intervals or rests."""
    rests = any(block.kind is BlockKind.REST for block in course.workout.scored_blocks)
    return not rests and course.blocks[0].block.kind is not BlockKind.INTERVALS


@dataclass(frozen=True, slots=True)
class Speed:
    """A group's speed against the catalogue's usual seconds, the middle of ``results``."""

    value: Fraction
    results: int


def group_speed(done: Mapping[int, Done]) -> Speed | None:
    """The middle of all results, to a hundredth; ``None`` where there are none."""
    speeds = [speed for each in done.values() for speed in each.speeds if speed > 0]
    if not speeds:
        return None
    return Speed(max(Fraction(1, 100), round(median(speeds), 2)), len(speeds))


def used_options(
    classes: Iterable[StreamedClass], done: Mapping[int, Done], movements: Iterable[str]
) -> dict[str, list[Used]]:
    """Options that stood at these movements, as last written, and how often they were used."""
    wanted = set(movements)
    last: dict[tuple[str, str], Used] = {}
    members: dict[tuple[str, str], set[int]] = defaultdict(set)
    times: Counter[tuple[str, str]] = Counter()
    for streamed in classes:
        listed = set()
        for line in mapping.course_of(streamed).lines:
            for option in line.line.options:
                key = line.line.movement, option.label
                if line.line.movement in wanted:
                    last.setdefault(key, Used(option, 0, 0))
                    listed.add(key)
        for key in listed:
            users = done[streamed.pk].used.get(key, set())
            members[key] |= users
            times[key] += len(users)
    found: dict[str, list[Used]] = {}
    for key, used in last.items():
        found.setdefault(key[0], []).append(Used(used.option, times[key], len(members[key])))
    return found
