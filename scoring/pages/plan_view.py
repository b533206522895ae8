"""A plan as the coach sees it while writing: picture, remarks, options to add, reps, gear."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone

from members.models import Membership
from scoring.core.board_edit import EditError, add_option
from scoring.core.course import Course
from scoring.core.figures import figure
from scoring.core.pacing import rough
from scoring.core.prescription import BlockKind, clock_text
from scoring.core.remarks import times
from scoring.core.suggestions import read_option
from scoring.core.totals import asked
from scoring.problems import Item, Refused, refuse
from scoring.selectors.briefing import parts
from scoring.selectors.planning import Planned, planned
from scoring.services.workouts import preview

from .group_fields import wanted_from
from .plan_drawing import plan_picture
from .plan_forecast import forecast_view, learned

FEW = 10
"""Fewer results than that are said to be few."""


@dataclass(frozen=True, slots=True)
class RepsRow:
    """A movement's line of the table of reps; empty texts where nothing is known."""

    movement: str
    reps: str
    sides: str
    average: str
    ratio: str
    beyond: str


def previewed(viewer: Membership, given: Mapping[str, Any], at: datetime) -> dict[str, Any]:
    """What a text comes to, for the page and for its live part.

    ``at`` is when the class starts; what was held before then is what it is compared with.
    """
    text = str(given.get("text", ""))
    if not text.strip():
        return {"said": ""}
    seen = preview(text=text)
    told: dict[str, Any] = {"notes": seen.notes, "problems": seen.problems}
    if seen.workout is None or seen.course is None:
        lines = len(seen.problems)
        return told | {"said": f"{lines} line{'' if lines == 1 else 's'} can't be read yet."}
    try:
        wanted, share = wanted_from(given)
        plan = planned(
            viewer=viewer,
            workout=seen.workout,
            starts_at=at,
            above_one=bool(given.get("above_one")),
            wanted=wanted,
            share=share,
        )
    except Refused as refused:
        return told | {
            "said": "Whom the forecast is for can't be read yet.",
            "group_faults": refused.items,
        }
    if plan is None:
        return told | {"said": ""}
    course = seen.course
    usual = asked(seen.workout)
    known = plan.forecast.expected if plan.forecast else None
    scale = learned(known) if known else None
    own = plan.asked if plan.speed and not known else None
    return told | {
        "said": _said(course, plan),
        "plan": plan,
        "picture": plan_picture(course, usual, own, scale),
        "group_words": "" if known else _group_words(course, plan),
        "forecast": forecast_view(plan.forecast, timezone.localtime()) if plan.forecast else None,
        "no_forecast": plan.answer.reason,
        "reps": _rows(plan),
        "pattern_words": ", ".join(f"{name} {reps:,}" for name, reps in plan.patterns.items()),
        "has_sides": bool(plan.sides),
        "reps_of": _reps_of(course, plan),
        "parts": parts(seen.workout),
        "is_scored": bool(course.blocks),
    }


def _said(course: Course, plan: Planned) -> str:
    """The whole of it in a breath, for who hears the page."""
    cap = f"Cap {clock_text(course.limit)}. " if course.limit else ""
    if not course.blocks:
        work = "Nothing of it is scored."
    elif course.is_endless:
        before = f"{course.amrap_start:,} reps, then an AMRAP" if course.amrap_start else "An AMRAP"
        work = f"{before} of {course.round_reps} reps a round."
    elif course.workout_block(1).kind is BlockKind.MAX_LOAD:
        work = "A strength piece."
    elif plan.asked.is_guess:
        work = "Intervals that end with as many reps as possible."
    else:
        work = f"{course.total:,} reps in all."
    count = len(plan.remarks)
    remarks = "Nothing to remark." if not count else f"{count} remark{'' if count == 1 else 's'}."
    return f"{cap}{work} {remarks}"


def _reps_of(course: Course, plan: Planned) -> str:
    """What the reps of the table are."""
    if plan.forecast:
        half = plan.asked.stopped
        if half is None:
            return ""
        where = course.describe(half)
        if plan.asked.is_guess:
            return f"As far as half of this group should get: {where}."
        return f"All of it as written; half of this group should get at least as far as {where}."
    if not plan.asked.is_guess:
        return ""
    pace = "this group's own pace" if plan.speed else "the usual pace, which knows no pauses,"
    if plan.asked.stopped is None:
        return f"With what {pace} makes of the sets without a count."
    return f"As far as {pace} gets by the cap: {course.describe(plan.asked.stopped)}."


def _group_words(course: Course, plan: Planned) -> str:
    """Where the group's own pace gets, in words."""
    if plan.speed is None or course.limit is None:
        return ""
    speed = figure(plan.speed.value, most=2)
    results = "1 result" if plan.speed.results == 1 else f"{plan.speed.results:,} results"
    classes = "class" if plan.looked_at == 1 else f"{plan.looked_at} classes"
    said = [
        f"This group's own pace is {speed} of the usual one, which knows no pauses "
        f"(the middle of {results} in its last {classes})."
    ]
    if plan.speed.results < FEW:
        said.append("So few results could be chance.")
    if plan.asked.stopped is not None:
        said.append(f"The cap stops it at about {course.describe(plan.asked.stopped)}.")
    elif course.workout_block(1).kind is not BlockKind.INTERVALS:
        said.append(f"It is done at about {clock_text(rough(plan.asked.takes))}.")
    return " ".join(said)


def _rows(plan: Planned) -> list[RepsRow]:
    sides: dict[str, list[str]] = {}
    for row in plan.sides:
        sides.setdefault(row.movement, []).append(f"{row.starting:,} + {row.other:,}")
    volumes = {volume.movement: volume for volume in plan.volumes}
    rows = []
    for movement, reps in plan.totals.items():
        known = volumes.get(movement)
        rows.append(
            RepsRow(
                movement=movement,
                reps=f"{reps:,}",
                sides=", ".join(sides.get(movement, [])),
                average=f"{figure(known.average, most=1)} (of {known.members})" if known else "",
                ratio=times(known.ratio).removesuffix(" times") if known else "",
                beyond=f"{len(known.beyond)} of {known.members}" if known else "",
            )
        )
    return rows


def with_added(text: str, wanted: str) -> tuple[str, str]:
    """The text with an option added, and the line that was.

    ``wanted`` is a button's value: ``2.1: or knee push-up, credit 0.7``, with the number of
    the course's line. Raises ``Refused`` where the text no longer has that line.
    """
    number, _, option = wanted.partition(": ")
    seen = preview(text=text)
    if seen.course is None:
        raise Refused(*[Item("text", p.problem, p.suggestion, line=p.line) for p in seen.problems])
    place, _, movement = number.partition(" ")
    alike = [line for line in seen.course.lines if line.line.movement == movement]
    found = [line for line in alike if line.number == place] or alike
    try:
        read = read_option(option)
        if not found:
            raise EditError("The text has changed: that line is not there.")
        return add_option(text, found[0], read), option
    except (EditError, ValueError) as error:
        problem = str(error) if isinstance(error, EditError) else "That is no option."
        raise refuse("text", problem, "Write it below the line yourself.") from None
