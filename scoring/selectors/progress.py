"""A member's progress: load, reps, sides, options, attendance."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from members.models import Membership
from scoring import access
from scoring.core import catalogue
from scoring.core.breakdown import breakdown
from scoring.core.course import Course
from scoring.core.credits import choice_label
from scoring.core.iso_week import IsoWeek
from scoring.core.prescription import BlockKind
from scoring.core.scoring import Result as CoreResult
from scoring.core.scoring import score as score_of
from scoring.core.totals import most_first
from scoring.core.training import Week, by_week, session_load, weeks
from scoring.mapping import core_result, course_of, read_unbroken, rules_of
from scoring.models import Score, State, StreamedClass

from .questions import asked_marks


def own_scores(*, member: Membership, viewer: access.Viewer) -> list[Score]:
    """A member's scores, the oldest first; none for who may not see their history."""
    if not access.may_see_history(viewer, member):
        return []
    return list(_whole_scores(member))


def scores_of(member: Membership, pks: Collection[int]) -> list[Score]:
    """Some of a member's scores, the oldest first; whoever asks has asked the gate."""
    return list(_whole_scores(member).filter(pk__in=pks))


def _whole_scores(member: Membership) -> QuerySet[Score]:
    return (
        Score.objects.filter(result__member=member)
        .select_related(
            "result", "fact", "streamed_class__workout", "streamed_class__gym",
            "streamed_class__credit_table",
        )
        .order_by("streamed_class__starts_at", "pk")
    )  # fmt: skip


def _day(score: Score) -> date:
    zone = ZoneInfo(score.streamed_class.gym.timezone)
    return score.streamed_class.starts_at.astimezone(zone).date()


@dataclass(frozen=True, slots=True)
class Session:
    """A result whose effort was told: ``load`` is effort × minutes."""

    score: Score
    day: date
    load: Fraction


def sessions(scores: list[Score]) -> list[Session]:
    """Results with an effort and a clock, the oldest first."""
    return [
        Session(score, _day(score), session_load(score.fact.effort, Fraction(score.seconds)))
        for score in scores
        if score.fact.effort is not None and course_of(score.streamed_class).limit
    ]


def load_weeks(scores: list[Score]) -> tuple[Week, ...]:
    """Session load by week."""
    return weeks((session.day, session.load) for session in sessions(scores))


@dataclass(frozen=True, slots=True)
class Volume:
    """Reps of a week by movement and by pattern, and the results they are from."""

    monday: date
    movements: dict[str, int]
    patterns: dict[str, int]
    scores: tuple[Score, ...]


def volumes(scores: list[Score]) -> tuple[Volume, ...]:
    """Reps by week. What was done counts, not what was written."""
    done = [(_day(score), _reps(score)) for score in scores]
    movements = by_week((day, reps) for day, reps in done)
    patterns = dict(by_week((day, _by_pattern(reps)) for day, reps in done))
    return tuple(
        Volume(
            monday,
            most_first(counts),
            most_first(patterns[monday]),
            tuple(score for score in scores if IsoWeek.of(_day(score)).monday == monday),
        )
        for monday, counts in movements
    )


def _core(score: Score) -> tuple[Course, CoreResult]:
    course = course_of(score.streamed_class)
    return course, core_result(course, score.fact)


def _reps(score: Score) -> Counter[str]:
    course, result = _core(score)
    counted: Counter[str] = Counter()
    for portion in score_of(course, result, rules_of(score.streamed_class)).portions:
        movement = portion.label.partition(" @ ")[0]
        counted[movement] += portion.reps
    return counted


def _by_pattern(reps: Counter[str]) -> Counter[str]:
    counted: Counter[str] = Counter()
    for movement, count in reps.items():
        known = catalogue.find(movement)
        counted[known.pattern.value if known else "the coach's own"] += count
    return counted


@dataclass(frozen=True, slots=True)
class Balance:
    """Reps of a movement on the side one starts with and on the other, over all results;
    ``parts`` are those of each result."""

    movement: str
    starting: int
    other: int
    parts: tuple[tuple[Score, int, int], ...]


def balances(scores: list[Score]) -> list[Balance]:
    """Sides of one-sided and alternating work."""
    parts: dict[str, list[tuple[Score, int, int]]] = {}
    for score in scores:
        course, result = _core(score)
        for movement, one, two in breakdown(course, result, rules_of(score.streamed_class)).sides:
            parts.setdefault(movement, []).append((score, one, two))
    return [
        Balance(name, sum(p[1] for p in listed), sum(p[2] for p in listed), tuple(listed))
        for name, listed in sorted(parts.items())
    ]


@dataclass(frozen=True, slots=True)
class Step:
    """How a movement was done in a class: ``as prescribed``, or the option's label."""

    score: Score
    done_as: str
    prescribed: bool


def steps(scores: list[Score]) -> dict[str, list[Step]]:
    """For each movement ever done otherwise, how it was done over time, the oldest first."""
    found: dict[str, list[Step]] = {}
    scaled: set[str] = set()
    for score in scores:
        course, result = _core(score)
        by_movement: dict[str, list[tuple[str, bool]]] = {}
        for portion in score_of(course, result, rules_of(score.streamed_class)).portions:
            movement = course.lines[portion.line].line.movement
            by_movement.setdefault(movement, []).append((portion.label, portion.prescribed))
            if not portion.prescribed:
                scaled.add(movement)
        for movement, ways in by_movement.items():
            prescribed = all(is_so for _, is_so in ways)
            told = " and ".join(dict.fromkeys("as prescribed" if p else w for w, p in ways))
            found.setdefault(movement, []).append(Step(score, told, prescribed))
    return {movement: found[movement] for movement in sorted(scaled)}


@dataclass(frozen=True, slots=True)
class Best:
    """The best result in a workout done more than once, or the heaviest of a lift."""

    score: Score
    times: int
    is_lift: bool


def unquestioned(scores: list[Score]) -> list[Score]:
    """Those whose mark no coach is still to look at: nothing is made of the others."""
    asked = asked_marks(scores)
    return [score for score in scores if score.pk not in asked]


def bests(scores: list[Score]) -> list[Best]:
    """Bests of repeated workouts and of lifts, the newest first."""
    groups: dict[tuple[str, bool], list[Score]] = {}
    for score in scores:
        streamed = score.streamed_class
        groups.setdefault((streamed.workout.fingerprint, streamed.weighted), []).append(score)
    found = []
    for rows in groups.values():
        is_lift = course_of(rows[0].streamed_class).workout_block(1).kind is BlockKind.MAX_LOAD
        if len(rows) > 1 or is_lift:
            best = max(rows, key=lambda row: (row.key, -row.tie_key, -row.pk))
            found.append(Best(best, len(rows), is_lift))
    return sorted(found, key=lambda b: b.score.streamed_class.starts_at, reverse=True)


@dataclass(frozen=True, slots=True)
class Unbroken:
    """The longest set of a movement without a break, as it was done."""

    movement: str
    reps: int
    score: Score


def unbroken_bests(scores: list[Score]) -> list[Unbroken]:
    """The longest noted sets, one for each way of doing a movement."""
    found: dict[str, Unbroken] = {}
    for score in scores:
        noted = read_unbroken(score.fact.unbroken)
        if not noted:
            continue
        course, result = _core(score)
        choices = {choice.line: choice for choice in result.choices}
        for line in course.lines:
            reps = noted.get(line.number, 0)
            choice = choices.get(line.index)
            label = choice_label(line, choice) if choice else line.line.movement
            if reps > (found[label].reps if label in found else 0):
                found[label] = Unbroken(label, reps, score)
    return [found[label] for label in sorted(found)]


@dataclass(frozen=True, slots=True)
class Attended:
    """A week of classes that were held: each with whether the member logged in it."""

    monday: date
    classes: tuple[tuple[StreamedClass, bool], ...]


def attendance(
    *, member: Membership, viewer: access.Viewer, now: datetime, last_weeks: int = 12
) -> list[Attended]:
    """The gym's classes by week that have begun since the member joined, and all they logged
    in; the newest week first."""
    if not access.may_see_history(viewer, member):
        return []
    there = set(
        Score.objects.filter(result__member=member).values_list("streamed_class", flat=True)
    )
    held = Q(starts_at__gte=member.joined_at, starts_at__lte=now)
    classes = list(
        StreamedClass.objects.filter(held | Q(pk__in=there), gym=member.gym_id)
        .exclude(state=State.DRAFT)
        .select_related("gym", "workout")
        .order_by("starts_at")
    )
    return _by_weeks(classes, there)[:last_weeks]


def _by_weeks(classes: Iterable[StreamedClass], there: set[int]) -> list[Attended]:
    found: dict[date, list[tuple[StreamedClass, bool]]] = {}
    for streamed in classes:
        day = streamed.starts_at.astimezone(ZoneInfo(streamed.gym.timezone)).date()
        found.setdefault(IsoWeek.of(day).monday, []).append((streamed, streamed.pk in there))
    if not found:
        return []
    weeks_held, monday = [], max(found)
    while monday >= min(found):
        weeks_held.append(Attended(monday, tuple(found.get(monday, ()))))
        monday -= timedelta(days=7)
    return weeks_held
