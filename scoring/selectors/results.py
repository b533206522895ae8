"""Results opened up, and members' histories."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from fractions import Fraction

from members.models import Membership
from scoring import access, boards
from scoring.core.breakdown import Breakdown, breakdown
from scoring.core.figures import figure
from scoring.mapping import core_result, course_of, rules_of
from scoring.models import Fact, Result, Score, StreamedClass

from .levels import LevelSeen
from .paces import pace
from .progress import own_scores
from .questions import asked_marks


@dataclass(frozen=True, slots=True)
class OpenedResult:
    """A result with its score, breakdown and standing. ``facts`` is empty for viewers who
    may not see corrections, notes and effort; ``score`` is ``None`` once withdrawn.

    ``question`` is why a coach is still to look at the mark, for its owner and coaches:
    while it is open nothing is made of the result, as a best."""

    result: Result
    name: str
    score: Score | None
    breakdown: Breakdown | None
    rank: int | None
    total: int
    facts: list[Fact]
    is_own: bool
    question: str = ""


def result_for(*, viewer: access.Viewer, pk: int) -> Result | None:
    """One result, ``None`` if there is none that the viewer may see."""
    result = (
        Result.objects.filter(pk=pk, current__isnull=False)
        .select_related(
            "streamed_class__workout",
            "streamed_class__gym",
            "streamed_class__credit_table",
            "member",
            "current",
            "score__fact",
        )
        .first()
    )
    if result is None or not access.may_see_result(viewer, result):
        return None
    return result


def breakdown_for(*, result: Result, viewer: access.Viewer) -> OpenedResult | None:
    """Open a result up, from its stored fact and the credits its class scores by."""
    if not access.may_see_result(viewer, result):
        return None
    streamed_class = result.streamed_class
    score = getattr(result, "score", None)
    opened, rank, total = None, None, 0
    if score is not None and result.current is not None:
        course = course_of(streamed_class)
        opened = breakdown(course, core_result(course, result.current), rules_of(streamed_class))
        pair = (score.key, score.tie_key)
        standings = boards.store().standings(streamed_class, [pair], "all")
        rank, total = standings.places[pair].rank, standings.total
    facts: list[Fact] = []
    question = ""
    if access.may_see_private(viewer, result):
        facts = list(result.facts.select_related("entered_by").order_by("-number"))
        if score is not None:
            question = asked_marks([score]).get(score.pk, "")
    return OpenedResult(
        result=result,
        name=access.shown_name(viewer, result.member),
        score=score,
        breakdown=opened,
        rank=rank,
        total=total,
        facts=facts,
        is_own=viewer is not None and viewer.pk == result.member_id,
        question=question,
    )


def newest_result(*, member: Membership, viewer: access.Viewer) -> OpenedResult | None:
    """A member's result in the latest class they logged in, if there is one to see."""
    found = (
        Result.objects.filter(member=member, score__isnull=False)
        .order_by("-streamed_class__starts_at", "-pk")
        .values_list("pk", flat=True)
        .first()
    )
    result = result_for(viewer=viewer, pk=found) if found else None
    return breakdown_for(result=result, viewer=viewer) if result else None


@dataclass(frozen=True, slots=True)
class HistoryRow:
    """One result of a member. ``pace`` is credited reps a minute (kg in a strength piece);
    ``level`` is the member's on that day, rounded, ``None`` where the estimate doesn't reach;
    ``change`` compares with the repeat before, in percent. While ``is_asked`` a coach is still
    to look at the mark, and nothing is made of it."""

    result_id: int
    score: Score
    rank: int
    total: int
    pace: str
    level: int | None
    repeats: int
    change: str | None
    is_asked: bool


def history(
    *, member: Membership, viewer: access.Viewer, level: LevelSeen | None = None
) -> list[HistoryRow]:
    """Every result of a member, the newest first; empty for who may not see it. ``level``
    tells the level on the days of results."""
    if not access.may_see_history(viewer, member):
        return []
    scores = own_scores(member=member, viewer=viewer)
    fields = _fields(scores)
    asked = asked_marks(scores)
    last: dict[tuple[str, bool], Fraction] = {}
    counts: dict[tuple[str, bool], int] = {}
    rows = []
    for score in scores:
        streamed_class = score.streamed_class
        same = (streamed_class.workout.fingerprint, streamed_class.weighted)
        performance = Fraction(score.performance)
        before = last.get(same)
        change = None
        is_asked = score.pk in asked
        if before and not is_asked:
            percent = (performance / before - 1) * 100
            change = ("+" if percent > 0 else "") + figure(percent, most=1)
        if not is_asked:
            last[same] = performance
        counts[same] = counts.get(same, 0) + 1
        field = fields[score.streamed_class_id]
        own = (-score.key, score.tie_key)
        rows.append(
            HistoryRow(
                result_id=score.result_id,
                score=score,
                rank=1 + bisect_left(field, own),
                total=len(field),
                pace=pace(score, streamed_class),
                level=_level(level, streamed_class),
                repeats=counts[same],
                change=change,
                is_asked=is_asked,
            )
        )
    return rows[::-1]


def _level(seen: LevelSeen | None, streamed_class: StreamedClass) -> int | None:
    reading = seen.on(streamed_class.starts_at) if seen else None
    return round(reading.level) if reading else None


def _fields(scores: list[Score]) -> dict[int, list[tuple[int, int]]]:
    """(-key, tie_key) of everybody in the classes of these scores, best first.

    One query for all of a member's classes, where a board store would be asked for each.
    """
    found: dict[int, list[tuple[int, int]]] = {}
    rows = Score.objects.filter(streamed_class__in={s.streamed_class_id for s in scores})
    for class_id, key, tie_key in rows.order_by("-key", "tie_key").values_list(
        "streamed_class_id", "key", "tie_key"
    ):
        found.setdefault(class_id, []).append((-key, tie_key))
    return found


def repeats(*, member: Membership, viewer: access.Viewer) -> list[list[HistoryRow]]:
    """Results in workouts done more than once, one list a workout, the oldest first."""
    groups: dict[tuple[str, bool], list[HistoryRow]] = {}
    for row in reversed(history(member=member, viewer=viewer)):
        streamed_class = row.score.streamed_class
        groups.setdefault((streamed_class.workout.fingerprint, streamed_class.weighted), []).append(
            row
        )
    several = [rows for rows in groups.values() if len(rows) > 1]
    return sorted(several, key=lambda rows: rows[-1].score.streamed_class.starts_at, reverse=True)
