"""The class on one screen, for its coaches: everything that its results can say."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from zoneinfo import ZoneInfo

from members.models import Membership, Role
from scoring import access
from scoring.core.course import Course
from scoring.core.crowd import (
    Interval,
    Stop,
    StoppedIn,
    at_share,
    by_order,
    intervals,
    is_course,
    most_stopped,
    quarters,
    stopped_in,
)
from scoring.core.estimation.pace import Pace
from scoring.core.passed import Passed, Splits, passed
from scoring.core.prescription import BlockKind
from scoring.core.told_class import Change, Claim, ClassFacts, Kind, claims
from scoring.core.used import LineUse, used
from scoring.mapping import course_of
from scoring.models import Pain, State, StreamedClass

from .classes import usual_members
from .forecast_record import Beside, beside
from .forecasts import pace_then
from .requests import pains_of
from .review_before import Before, LastTime, before
from .review_plan import Plan, plan_of, planned_ends
from .review_rows import Row, rows_of


@dataclass(frozen=True, slots=True)
class Quarters:
    """The places at a quarter, a half and three quarters of all who logged."""

    low: Row
    half: Row
    high: Row


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard it was, 0 to 10: how many said so, by figure; ``half`` said that or less."""

    counts: tuple[int, ...]
    told: int
    half: int | None


@dataclass(frozen=True, slots=True)
class Review:
    """A class after it. ``rows`` are everybody, the furthest first. ``pace`` is the typical
    member's as it was planned with, ``None`` before any result; ``foreseen`` the forecast that
    was kept beside what happened."""

    streamed_class: StreamedClass
    course: Course
    kind: Kind
    members: int
    usual_missing: int
    missing: int
    rows: tuple[Row, ...]
    quarters: Quarters | None
    stopped: tuple[StoppedIn, ...]
    intervals: tuple[Interval, ...]
    passed: tuple[Passed, ...]
    used: tuple[LineUse, ...]
    effort: Effort
    before: Before
    plan: Plan | None
    pains: tuple[Pain, ...]
    claims: tuple[Claim, ...]
    pace: Pace | None
    foreseen: Beside | None

    @property
    def logged(self) -> int:
        return len(self.rows)

    @property
    def prescribed(self) -> int:
        return sum(row.stop.prescribed for row in self.rows)

    @property
    def finished(self) -> int:
        return sum(row.stop.seconds is not None for row in self.rows)

    @property
    def row_by_id(self) -> dict[int, Row]:
        return {row.score.pk: row for row in self.rows}


def review(*, streamed_class: StreamedClass, viewer: access.Viewer) -> Review | None:
    """Everything of a class that has scored blocks; ``None`` for who may not manage it, and
    for one in which nothing is scored. The number of queries doesn't grow with the class."""
    course = course_of(streamed_class)
    if not access.may_manage(viewer, streamed_class) or not course.blocks:
        return None
    rows = rows_of(streamed_class, viewer)
    stops = [row.stop for row in rows]
    earlier = before(streamed_class, rows)
    missing = _missing(streamed_class, rows)
    foreseen = beside(streamed_class=streamed_class, viewer=viewer)
    pace = pace_then(streamed_class, foreseen.record if foreseen else None)
    shared = _Shared(
        streamed_class=streamed_class,
        course=course,
        kind=kind_of(course),
        # Coaches who log are of the class too, so the members are those who came and the rest.
        members=len(rows) + len(missing),
        usual_missing=len(missing & usual_members(streamed_class)),
        rows=rows,
        before=earlier,
        stopped=stopped_in(course, stops),
        pains=tuple(pains_of(streamed_class=streamed_class, viewer=viewer)),
        quarters=_quarters(rows),
        effort=_effort(rows),
        plan=plan_of(streamed_class, course, rows, pace, foreseen),
    )
    return Review(
        streamed_class=streamed_class,
        course=course,
        kind=shared.kind,
        members=shared.members,
        usual_missing=shared.usual_missing,
        missing=len(missing),
        rows=tuple(rows),
        quarters=shared.quarters,
        stopped=tuple(shared.stopped),
        intervals=tuple(intervals(row.mark for row in rows)),
        passed=tuple(_passed(course, rows, pace)),
        used=tuple(used(course, [(row.stop, row.portions) for row in rows])),
        effort=shared.effort,
        before=earlier,
        plan=shared.plan,
        pains=shared.pains,
        claims=tuple(claims(_facts(shared))),
        pace=pace,
        foreseen=foreseen,
    )


@dataclass(frozen=True, slots=True)
class _Shared:
    """What the paragraph is told from."""

    streamed_class: StreamedClass
    course: Course
    kind: Kind
    members: int
    usual_missing: int
    rows: list[Row]
    before: Before
    stopped: list[StoppedIn]
    pains: tuple[Pain, ...]
    quarters: Quarters | None
    effort: Effort
    plan: Plan | None


def kind_of(course: Course) -> Kind:
    """What the marks of a course are."""
    if is_course(course):
        return Kind.COURSE
    is_lift = course.workout_block(1).kind is BlockKind.MAX_LOAD
    return Kind.LIFT if is_lift else Kind.INTERVALS


def _missing(streamed_class: StreamedClass, rows: Sequence[Row]) -> set[int]:
    """Members of the gym who have not logged."""
    members = Membership.objects.filter(
        gym=streamed_class.gym_id, left_at__isnull=True, role=Role.MEMBER
    )
    return set(members.values_list("pk", flat=True)) - {row.member_id for row in rows}


def _quarters(rows: Sequence[Row]) -> Quarters | None:
    by_id = {row.score.pk: row for row in rows}
    found = quarters(by_order(row.stop for row in rows))
    return found and Quarters(*(by_id[stop.id] for stop in found))


def _effort(rows: Sequence[Row]) -> Effort:
    told = sorted(row.score.fact.effort for row in rows if row.score.fact.effort is not None)
    counts = Counter(told)
    half = at_share(told, Fraction(1, 2)) if told else None
    return Effort(tuple(counts[figure] for figure in range(11)), len(told), half)


def _passed(course: Course, rows: Sequence[Row], pace: Pace | None) -> list[Passed]:
    if not is_course(course):
        return []
    members = [
        Splits(row.score.pk, row.score.raw_reps, row.splits, row.performance) for row in rows
    ]
    return passed(course, members, planned_ends(course, pace))


def _day(streamed_class: StreamedClass) -> str:
    zone = ZoneInfo(streamed_class.gym.timezone)
    day: date = streamed_class.starts_at.astimezone(zone).date()
    return f"{day.day} {day:%b %Y}"


def _facts(shared: _Shared) -> ClassFacts:
    rows, quarters = shared.rows, shared.quarters
    crowded = most_stopped(shared.stopped)
    half = quarters.half if quarters else None
    orders = {row.stop.order for row in rows}
    effort = shared.effort
    return ClassFacts(
        kind=shared.kind,
        logged=len(rows),
        members=shared.members,
        usual_missing=shared.usual_missing,
        is_open=shared.streamed_class.state != State.CLOSED,
        prescribed=sum(row.stop.prescribed for row in rows),
        has_options=_can_scale(shared.course) or not all(row.stop.prescribed for row in rows),
        can_finish=shared.kind is Kind.COURSE and not shared.course.is_endless,
        finished=sum(row.stop.seconds is not None for row in rows),
        halfway=half.place if half else "",
        halfway_finished=bool(half and half.stop.seconds is not None),
        all_alike=len(orders) == 1,
        nothing_done=sum(_is_nothing(row.stop) for row in rows),
        crowded=(f"{crowded.movement} ({crowded.where})", crowded.count) if crowded else None,
        effort=(effort.half, effort.told) if effort.half is not None else None,
        change=_change(shared.before.last),
        plan=shared.plan.sentences if shared.plan else (),
        improved=[best.row.name for best in shared.before.improved],
        first_prescribed=[best.row.name for best in shared.before.first_prescribed],
        newcomers=[row.name for row in shared.before.newcomers],
        pains=len(shared.pains),
    )


def _change(last: LastTime | None) -> Change | None:
    if last is None or last.change is None:
        return None
    found = last.change
    return Change(found.count, found.percent, found.low, found.high, _day(last.streamed_class))


def _can_scale(course: Course) -> bool:
    return any(line.line.options or line.line.load for line in course.lines)


def _is_nothing(stop: Stop) -> bool:
    return stop.seconds is None and not stop.amount
