"""A planned class seen whole: what it asks for, of whom, with what, and what to say of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from scoring import access
from scoring.core.course import Course
from scoring.core.credits import CreditTable
from scoring.core.gear import alternatives, can_do
from scoring.core.prescription import Workout
from scoring.core.reference import SAME
from scoring.core.remarks import Compared, Remark
from scoring.core.suggestions import LineSuggestions, suggest_options
from scoring.core.totals import (
    Asked,
    SideTotal,
    asked,
    by_movement,
    by_pattern,
    by_side,
    odd_words,
)
from scoring.models import CreditTableVersion, Setup

from .briefing import standards
from .forecasts import EARLIEST, LATEST, Answer, Foretold, foretold
from .groups import Wanted
from .past import Speed, classes_before, done_in, group_speed, used_options
from .remarks import remarked


@dataclass(frozen=True, slots=True)
class Needed:
    """Gear and the movements that need it. ``only_options`` if nothing as prescribed does."""

    gear: str
    movements: tuple[str, ...]
    only_options: bool


@dataclass(frozen=True, slots=True)
class Planned:
    """What a text comes to for a group.

    ``totals`` and ``patterns`` are reps; ``equipped`` of ``told_gear`` members can do all
    of it as prescribed or by an option with the gear they told of.
    """

    asked: Asked
    totals: Mapping[str, int]
    patterns: Mapping[str, int]
    sides: tuple[SideTotal, ...]
    odd: tuple[str, ...]
    gear: tuple[Needed, ...]
    told_gear: int
    equipped: int
    speed: Speed | None
    volumes: tuple[Compared, ...]
    remarks: tuple[Remark, ...]
    suggestions: tuple[LineSuggestions, ...]
    looked_at: int
    answer: Answer

    @property
    def forecast(self) -> Foretold | None:
        return self.answer.forecast


def planned(
    *,
    viewer: access.Viewer,
    workout: Workout,
    starts_at: datetime,
    above_one: bool = False,
    wanted: Wanted | None = None,
    share: float | None = None,
) -> Planned | None:
    """What to know of a plan, for a coach; ``None`` for others. The forecast is for the
    ``wanted`` group, and proposes what lets a ``share`` of it through."""
    if not access.may_manage_gym(viewer) or viewer is None:
        return None
    starts_at = min(max(starts_at, EARLIEST), LATEST)
    classes = classes_before(viewer=viewer, before=starts_at)
    done = done_in(classes)
    speed = group_speed(done)
    newest = CreditTableVersion.objects.filter(gym=viewer.gym_id).order_by("-version").first()
    table = CreditTable.from_dict(newest.rules) if newest else CreditTable()
    course = Course(workout)
    answer = foretold(
        viewer=viewer, workout=workout, starts_at=starts_at, wanted=wanted, share=share
    )
    assert answer is not None  # coaches only
    usual = asked(workout, speed.value if speed else SAME)
    plan = _as_forecast(usual, course, answer.forecast)
    said = remarked(
        viewer=viewer,
        workout=workout,
        starts_at=starts_at,
        classes=classes,
        done=done,
        speed=speed,
        plan=plan,
        table=table,
        above_one=above_one,
        has_forecast=answer.forecast is not None,
    )
    used = used_options(classes, done, [line.line.movement for line in course.lines])
    told, equipped = _equipped(viewer, course)
    return Planned(
        asked=plan,
        totals=by_movement(course, plan.counts),
        patterns=by_pattern(course, plan.counts),
        sides=by_side(course, plan.counts),
        odd=odd_words(course),
        gear=gear_needed(workout),
        told_gear=told,
        equipped=equipped,
        speed=speed,
        volumes=said.volumes,
        remarks=said.remarks,
        suggestions=suggest_options(course, used, table),
        looked_at=len(classes),
        answer=answer,
    )


def _as_forecast(plan: Asked, course: Course, forecast: Foretold | None) -> Asked:
    """What a plan comes to where half of the group should be: the forecast has the one answer
    to how far the group gets, and its own speed over all movements only where there is none."""
    if forecast is None:
        return plan
    raw = forecast.expected.halfway
    reached = course.line_reps(raw)
    return replace(
        plan,
        counts=reached if course.is_endless else plan.counts,
        reached=reached,
        stopped=None if raw == course.total else course.place(raw),
    )


def gear_needed(workout: Workout) -> tuple[Needed, ...]:
    """Every piece of gear with what needs it, warm-up and cool-down included."""
    prescribed = {line.movement for block in workout.blocks for line in block.lines}
    by_gear: dict[str, list[str]] = {}
    for standard in standards(workout):
        for phrase in standard.gear:
            if alternatives(phrase):
                by_gear.setdefault(phrase, []).append(standard.name)
    needed = [
        Needed(phrase, tuple(names), prescribed.isdisjoint(names))
        for phrase, names in by_gear.items()
    ]
    return tuple(sorted(needed, key=lambda n: (n.only_options, n.gear)))


def _equipped(viewer: access.Viewer, course: Course) -> tuple[int, int]:
    """How many members told their gear, and how many of them can do every line some way."""
    assert viewer is not None
    listed = Setup.objects.filter(
        member__gym=viewer.gym_id, member__left_at__isnull=True, has_told_gear=True
    ).values_list("pieces", flat=True)
    ways = [
        {line.line.movement, *(option.movement for option in line.line.options)}
        for line in course.lines
    ]
    all_pieces = [frozenset(pieces) for pieces in listed]
    can = {
        pieces: all(any(can_do(name, pieces) for name in names) for names in ways)
        for pieces in set(all_pieces)
    }
    return len(all_pieces), sum(can[pieces] for pieces in all_pieces)
