"""A class against what came before it: the last time of its workout, bests, usual paces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from django.db.models import QuerySet

from scoring.core.change import PaceChange, pace_change, percent_of
from scoring.core.credits import choices_words
from scoring.core.crowd import at_share, is_course
from scoring.core.drawing import Drawing
from scoring.mapping import course_of
from scoring.models import Score, State, StreamedClass

from .review_rows import Row

RECENT = 6
"""Classes that say how fast somebody usually is."""


@dataclass(frozen=True, slots=True)
class Then:
    """A member who did the workout both times: ``percent`` is the change of their pace,
    ``None`` where they did nothing then."""

    row: Row
    before: Score
    options_then: str
    percent: float | None

    @property
    def has_other_options(self) -> bool:
        return self.options_then != self.row.options


@dataclass(frozen=True, slots=True)
class LastTime:
    """The last class with the same workout. ``change`` is of the same members; the paces at
    half, in credited reps a second or kilograms, are of whoever came each time."""

    streamed_class: StreamedClass
    both: tuple[Then, ...]
    change: PaceChange | None
    count_then: int
    half_then: Fraction
    half_now: Fraction
    has_other_credits: bool


@dataclass(frozen=True, slots=True)
class Best:
    """Good news of a member. ``times`` is how often they did this workout before."""

    row: Row
    times: int


@dataclass(frozen=True, slots=True)
class Before:
    """What earlier classes say of this one."""

    last: LastTime | None
    improved: tuple[Best, ...]
    first_prescribed: tuple[Best, ...]
    newcomers: tuple[Row, ...]


def before(streamed_class: StreamedClass, rows: Sequence[Row]) -> Before:
    """A handful of queries, however many results."""
    earlier = list(_earlier(streamed_class))
    by_member: dict[int, list[Score]] = {}
    for score in earlier:
        by_member.setdefault(score.result.member_id, []).append(score)
    improved, first_prescribed = [], []
    for row in sorted(rows, key=lambda row: row.name.casefold()):
        own = by_member.get(row.member_id, [])
        if own and (row.score.key, -row.score.tie_key) > max((s.key, -s.tie_key) for s in own):
            improved.append(Best(row, len(own)))
        if own and row.score.as_prescribed and not any(s.as_prescribed for s in own):
            first_prescribed.append(Best(row, len(own)))
    return Before(
        last=_last(streamed_class, rows, earlier),
        improved=tuple(improved),
        first_prescribed=tuple(first_prescribed),
        newcomers=_newcomers(streamed_class, rows),
    )


def _earlier(streamed_class: StreamedClass) -> QuerySet[Score]:
    """Scores of earlier times of the same workout, the oldest first."""
    return (
        Score.objects.filter(
            streamed_class__gym=streamed_class.gym_id,
            streamed_class__workout__fingerprint=streamed_class.workout.fingerprint,
            streamed_class__weighted=streamed_class.weighted,
            streamed_class__starts_at__lt=streamed_class.starts_at,
        )
        .exclude(streamed_class__state=State.DRAFT)
        .select_related("fact", "result")
        .only(
            "key",
            "tie_key",
            "performance",
            "as_prescribed",
            "streamed_class_id",
            "result__member_id",
            "fact__mark",
            "fact__options",
        )
        .order_by("streamed_class__starts_at", "streamed_class", "pk")
    )


def _last(
    streamed_class: StreamedClass, rows: Sequence[Row], earlier: list[Score]
) -> LastTime | None:
    if not earlier or not rows:
        return None
    last = StreamedClass.objects.select_related("workout", "gym").get(
        pk=earlier[-1].streamed_class_id
    )
    there = {s.result.member_id: s for s in earlier if s.streamed_class_id == last.pk}
    course = course_of(last)
    both = []
    for row in sorted(rows, key=lambda row: row.name.casefold()):
        score = there.get(row.member_id)
        if score is not None:
            then = Fraction(score.performance)
            percent = percent_of(then, row.performance)
            both.append(Then(row, score, choices_words(course, score.fact.options), percent))
    half = Fraction(1, 2)
    return LastTime(
        streamed_class=last,
        both=tuple(both),
        change=pace_change([(Fraction(t.before.performance), t.row.performance) for t in both]),
        count_then=len(there),
        half_then=at_share(sorted(Fraction(s.performance) for s in there.values()), half),
        half_now=at_share(sorted(row.performance for row in rows), half),
        has_other_credits=last.credit_table_id != streamed_class.credit_table_id
        or last.above_one != streamed_class.above_one,
    )


def _newcomers(streamed_class: StreamedClass, rows: Sequence[Row]) -> tuple[Row, ...]:
    """Whose first result this is."""
    known = set(
        Score.objects.filter(
            streamed_class__gym=streamed_class.gym_id,
            streamed_class__starts_at__lt=streamed_class.starts_at,
            result__member__results__streamed_class=streamed_class,
        ).values_list("result__member", flat=True)
    )
    new = [row for row in rows if row.member_id not in known]
    return tuple(sorted(new, key=lambda row: row.name.casefold()))


def usual_ratios(streamed_class: StreamedClass, rows: Sequence[Row]) -> dict[int, Fraction]:
    """By score: the reference seconds of work its member usually does in a second of clock."""
    ratios = member_ratios(streamed_class)
    return {row.score.pk: ratios[row.member_id] for row in rows if row.member_id in ratios}


def member_ratios(streamed_class: StreamedClass) -> dict[int, Fraction]:
    """By member: the reference seconds of work they usually do in a second of clock.

    The middle of their last results in the gym's last ``RECENT`` classes before this one;
    intervals and strength pieces say nothing of it. Two queries.
    """
    recent = list(
        StreamedClass.objects.filter(
            gym=streamed_class.gym_id, starts_at__lt=streamed_class.starts_at
        )
        .exclude(state=State.DRAFT)
        .select_related("workout")
        .order_by("-starts_at", "-pk")[:RECENT]
    )
    courses = {c.pk: course for c in recent if is_course(course := course_of(c))}
    done = list(
        Score.objects.filter(streamed_class__in=courses).values_list(
            "streamed_class", "result__member", "raw_reps", "seconds"
        )
    )
    furthest: dict[int, int] = {}
    for class_id, _, reps, _ in done:
        furthest[class_id] = max(reps, furthest.get(class_id, 0))
    drawings = {pk: Drawing(courses[pk], reps) for pk, reps in furthest.items()}
    ratios: dict[int, list[Fraction]] = {}
    for class_id, member_id, reps, seconds in done:
        ratio = drawings[class_id].at(reps) / Fraction(seconds)
        ratios.setdefault(member_id, []).append(ratio)
    return {member: at_share(sorted(found), Fraction(1, 2)) for member, found in ratios.items()}
