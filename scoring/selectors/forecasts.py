"""How far a group should get: the estimate asked about a workout, as its members do it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cached_property
from zoneinfo import ZoneInfo

import numpy as np

from members.models import Gym, Membership
from scoring import access
from scoring.core.course import Course
from scoring.core.credits import Choice
from scoring.core.crowd import is_course
from scoring.core.estimation.assumptions import UNTAUGHT_SPREAD
from scoring.core.estimation.estimate import Estimate
from scoring.core.estimation.forecast import Field, Forecast
from scoring.core.estimation.forecast_words import SHARE, remarks
from scoring.core.estimation.naming import way_of
from scoring.core.estimation.pace import Pace
from scoring.core.estimation.track import track
from scoring.core.prescription import BlockKind, Workout
from scoring.mapping import prescription
from scoring.models import ForecastRecord, StreamedClass

from .estimates import Held, held, latest, snapshot, with_courses
from .groups import Wanted, Who, group_for
from .habits import Habits, choice_for, habits

EARLIEST, LATEST = datetime(1970, 1, 1, tzinfo=UTC), datetime(9000, 1, 1, tzinfo=UTC)
"""What is typed on the way to a year can be no time in another zone."""


def day_of(moment: datetime, zone: str) -> float:
    """A moment in the days that estimates count in: those of the gym's calendar."""
    return float(moment.astimezone(ZoneInfo(zone)).date().toordinal())


@dataclass(frozen=True, eq=False)
class Expected:
    """A group's forecast in one workout.

    ``members`` are keys of memberships in the order of the forecast's rows; ``choices`` are
    the sets of choices that somebody makes, the first as prescribed throughout, and
    ``chosen`` is which of them each member makes. ``field`` can be asked more.
    """

    held: Held
    course: Course
    members: tuple[int, ...]
    choices: tuple[Mapping[int, Choice], ...]
    chosen: tuple[int, ...]
    field: Field
    told: Forecast

    @property
    def unknown(self) -> tuple[str, ...]:
        """Movements as prescribed that no result has in it, by any option or load: what a rep
        takes is the catalogue's figure, or that of a movement it doesn't know."""
        return never_done(self.held, self.course)

    @property
    def has_options(self) -> bool:
        """Whether anybody takes an option or another load."""
        return any(self.choices[at] for at in self.chosen)

    @property
    def halfway(self) -> int:
        """Raw reps that half of the group should get to or past."""
        return int(self.told.middle[1])

    @cached_property
    def pace(self) -> Pace:
        """The typical member's, as prescribed."""
        return Pace(self.held.estimate, self.field.tracks[0])

    def remarks(self, share: float = SHARE) -> tuple[str, ...]:
        """What stands out."""
        return remarks(self.course, self.field, self.told, self.choices, share)


def expected(
    *,
    gym: Gym,
    workout: Workout,
    starts_at: datetime,
    members: Sequence[int],
    cap: int | None = None,
    snapshot: Held | None = None,
) -> Expected | None:
    """What members should do in a workout at a time, by the last estimate or the one given;
    ``None`` for intervals, strength pieces and what isn't scored, which have no places."""
    course = Course(workout, weighted=True)
    if not is_course(course) or course.limit is None:
        return None
    known = with_courses(snapshot or held(gym_id=gym.pk), [course])
    who = tuple(members)
    did = habits(gym_id=gym.pk, members=who, before=starts_at)
    sets, chosen = _chosen(known, course, who, did)
    positions = [known.member_at(pk) for pk in who]
    field = Field(
        _untaught(known.estimate) if known.is_prior else known.estimate,
        [track(course, choices) for choices in sets],
        np.array(chosen, dtype=np.int64),
        np.array([-1 if at is None else at for at in positions], dtype=np.int64),
        day_of(starts_at, gym.timezone),
    )
    return Expected(known, course, who, sets, chosen, field, field.forecast(cap))


def _untaught(estimate: Estimate) -> Estimate:
    """The catalogue's figures are wrong for all of a gym in common, not for each member alone:
    before any result a share of the group is as hard to say as a member's place."""
    spreads = estimate.spreads
    shared = float(np.hypot(spreads.classes, UNTAUGHT_SPREAD))
    return replace(estimate, spreads=replace(spreads, classes=shared))


def _chosen(
    known: Held, course: Course, members: Sequence[int], did: Habits
) -> tuple[tuple[Mapping[int, Choice], ...], tuple[int, ...]]:
    """Sets of choices, the first of none, and which of them each member makes."""
    ways = known.estimate.ways.positions
    sets: dict[tuple[Choice, ...], int] = {(): 0}
    chosen = []
    for member in members:
        own = did.get(member, {})
        choices = []
        for line in course.lines:
            habit = own.get(line.line.movement)
            choice = choice_for(line, habit) if habit else None
            # a load that no result has told of is no better known than the board's
            if choice is not None and way_of(line, choice) in ways:
                choices.append(choice)
        chosen.append(sets.setdefault(tuple(choices), len(sets)))
    return tuple({c.line: c for c in choices} for choices in sets), tuple(chosen)


def never_done(known: Held, course: Course) -> tuple[str, ...]:
    """Movements of a course of which no result has taught anything."""
    ways, used = known.estimate.ways.ways, known.estimate.used
    done = {
        name for way, count in zip(ways, used, strict=True) if count
        for name in (way.movement, way.option)
    }  # fmt: skip
    names = dict.fromkeys(line.line.movement for line in course.lines)
    return tuple(name for name in names if name not in done)


def typical(*, gym: Gym, workout: Workout) -> Pace | None:
    """The typical member's pace as prescribed, by what a gym's results have taught; ``None``
    before any, and for workouts without places."""
    course = Course(workout, weighted=True)
    if not is_course(course) or course.limit is None:
        return None
    return _pace(latest(gym_id=gym.pk), course)


def pace_then(streamed_class: StreamedClass, record: ForecastRecord | None) -> Pace | None:
    """The typical member's pace as a class was planned with: by the estimate of the forecast
    kept of it, the last one where that is cleared away; ``None`` without such a forecast."""
    course = Course(prescription(streamed_class.workout.text), weighted=True)
    if record is None or record.is_prior or not is_course(course) or course.limit is None:
        return None
    then = snapshot(pk=record.snapshot_id) if record.snapshot_id else None
    return _pace(then or latest(gym_id=streamed_class.gym_id), course)


def _pace(known: Held | None, course: Course) -> Pace | None:
    if known is None:
        return None
    return Pace(with_courses(known, [course]).estimate, track(course))


FEWEST_SHARE = 0.5
"""Who gets past the first block in fewer of the draws is named to the coach."""

NAMED = 5
"""So many are named."""

ALIKE = 0.05
"""Where chances lie no further apart, nobody is less likely than the others."""

HARDLY = 0.05
"""Where fewer of the group get past the first block, that is said of all of them."""

CAPS = (0.5, 0.8, 0.95)
"""Shares for which a cap is told."""

NOBODY = "There is no forecast: nobody belongs to the gym yet."
NOBODY_PICKED = "There is no forecast: nobody is picked. Pick at least one person."


@dataclass(frozen=True, slots=True)
class CapFor:
    """The smallest cap by which a share of the group should be through; ``None`` where no cap
    is long enough."""

    share: float
    cap: int | None


@dataclass(frozen=True, eq=False)
class Foretold:
    """A planned class's forecast, as its coach is told of it.

    ``unlikely`` are names of those who will more likely not get past the first block, with
    the share of draws in which they do, the least likely first; ``more`` are as unlikely and
    not named.
    """

    expected: Expected
    rule: str
    caps: tuple[CapFor, ...]
    remarks: tuple[str, ...]
    unlikely: tuple[tuple[str, float], ...]
    more: int


@dataclass(frozen=True, slots=True)
class Answer:
    """A forecast, or the ``reason`` why there is none; one of them is there."""

    forecast: Foretold | None
    reason: str = ""


def no_places(course: Course) -> str:
    """Why a workout can't be forecast, in a sentence; empty where it can."""
    if not course.blocks:
        return "There is no forecast: nothing of it is scored."
    kind = course.workout_block(1).kind
    if kind is BlockKind.INTERVALS:
        return (
            "There is no forecast for intervals: what counts is the reps of each interval, and a "
            "forecast tells how far people get along a course."
        )
    if kind is BlockKind.MAX_LOAD:
        return (
            "There is no forecast for a strength piece: what counts is a load, and a forecast "
            "tells how far people get along a course."
        )
    return "" if course.limit is not None else "There is no forecast without a cap."


def foretold(
    *,
    viewer: access.Viewer,
    workout: Workout,
    starts_at: datetime,
    cap: int | None = None,
    share: float | None = None,
    wanted: Wanted | None = None,
) -> Answer | None:
    """A forecast for who usually comes at that time or another group, for a coach; ``None``
    for others. Raises ``Refused`` for a group of people who are not there."""
    if not access.may_manage_gym(viewer) or viewer is None:
        return None
    starts_at = min(max(starts_at, EARLIEST), LATEST)
    group = group_for(gym=viewer.gym, starts_at=starts_at, wanted=wanted)
    reason = no_places(Course(workout))
    if reason:
        return Answer(None, reason)
    if not group.members:
        return Answer(None, NOBODY_PICKED if wanted and wanted.who is Who.PICKED else NOBODY)
    found = expected(
        gym=viewer.gym,
        workout=workout,
        starts_at=starts_at,
        members=group.members,
        cap=cap,
    )
    assert found is not None  # it has places
    caps = []
    if found.told.gates:
        shares = CAPS if share is None else (share,)
        caps = [CapFor(one, found.field.cap_for(one)) for one in shares]
    unlikely, more = _unlikely(viewer, found)
    said = found.remarks(share or SHARE)
    return Answer(Foretold(found, group.rule, tuple(caps), said, unlikely, more))


def _unlikely(viewer: Membership, found: Expected) -> tuple[tuple[tuple[str, float], ...], int]:
    if not found.told.gates or found.told.gates[0].share < HARDLY:
        return (), 0
    past = found.told.past[:, 0]
    if float(np.ptp(past)) < ALIKE:
        return (), 0
    under = sorted(
        (float(past[i]), pk) for i, pk in enumerate(found.members) if past[i] < FEWEST_SHARE
    )
    members = Membership.objects.in_bulk([pk for _, pk in under[:NAMED]])
    named = tuple((access.shown_name(viewer, members[pk]), share) for share, pk in under[:NAMED])
    return named, max(0, len(under) - NAMED)
