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
from scoring.core.credits import Choice, parse_choices
from scoring.core.marks import parse_mark
from scoring.core.prescription import BlockKind
from scoring.core.scoring import line_counts
from scoring.core.suggestions import Used
from scoring.models import Score, State, StreamedClass

LOOKED_AT = 36
"""So many of the gym's last classes are looked at."""

KEPT = 256
"""Classes of which what was done is kept in memory; it changes only with their version."""


@dataclass(slots=True)
class Done:
    """What was done in one class.

    ``reps`` by movement and member's key, of the movement itself and not of options for it;
    ``used`` are the members who used an option, by (movement, label); ``speeds`` are usual
    seconds of work for each second of the clock, one for each result.
    """

    reps: dict[str, Counter[int]] = field(default_factory=lambda: defaultdict(Counter))
    used: dict[tuple[str, str], set[int]] = field(default_factory=lambda: defaultdict(set))
    speeds: list[float] = field(default_factory=list)


_kept: OrderedDict[tuple[int, int], Done] = OrderedDict()


def forget() -> None:
    """Keep nothing any more; for tests, where keys come again."""
    _kept.clear()


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
    by_key = {(c.pk, c.board_version): c for c in classes}
    missing = {c.pk: c for key, c in by_key.items() if key not in _kept}
    made = {pk: _Reading(mapping.course(c.workout.text, True)) for pk, c in missing.items()}
    if missing:
        rows = Score.objects.filter(streamed_class__in=missing).values_list(
            "streamed_class", "result__member", "raw_reps", "seconds", "fact__mark", "fact__options"
        )
        for class_id, member, raw, seconds, mark, options in rows:
            made[class_id].add(member, raw, seconds, mark, options)
    found = {}
    for key, streamed in by_key.items():
        if streamed.pk in made:
            _kept[key] = made[streamed.pk].done
        _kept.move_to_end(key)
        found[streamed.pk] = _kept[key]
    while len(_kept) > KEPT:
        _kept.popitem(last=False)
    return found


class _Reading:
    """Adds results of one class up, fast: a gym of 400 has 14,000 in its last classes."""

    def __init__(self, course: Course) -> None:
        self.course = course
        self.done = Done()
        self.has_intervals = any(b.block.kind is BlockKind.INTERVALS for b in course.blocks)
        rests = any(block.kind is BlockKind.REST for block in course.workout.scored_blocks)
        self.has_one_clock = bool(course.limit) and not rests and not self.has_intervals
        self.choices: dict[str, dict[int, list[Choice]]] = {"": {}}

    def add(self, member: int, raw: int, seconds: str, mark: str, options: str) -> None:
        course, done = self.course, self.done
        if self.has_intervals:
            counts = line_counts(course, parse_mark(course, mark))
        elif course.limit:
            counts = course.line_reps(raw)
        else:
            counts = (raw,)
        if options not in self.choices:
            by_line: dict[int, list[Choice]] = {}
            for choice in parse_choices(course, options):
                by_line.setdefault(choice.line, []).append(choice)
            self.choices[options] = by_line
        choices = self.choices[options]
        for line, count in zip(course.lines, counts, strict=True):
            if line.index not in choices:
                done.reps[line.line.movement][member] += count
                continue
            left = count
            for choice in sorted(choices[line.index], key=lambda c: c.reps is None):
                reps = left if choice.reps is None else choice.reps
                left -= reps
                movement = line.line.movement
                if choice.option is not None and reps:
                    option = line.line.options[choice.option]
                    done.used[movement, option.label].add(member)
                    movement = option.movement
                done.reps[movement][member] += reps
            done.reps[line.line.movement][member] += left
        if self.has_one_clock and raw:
            work = sum(reps * line.weight for line, reps in zip(course.lines, counts, strict=True))
            done.speeds.append(work / 10 / float(Fraction(seconds)))


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
    return Speed(max(Fraction(1, 100), Fraction(round(median(speeds) * 100), 100)), len(speeds))


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
