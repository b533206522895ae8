"""A class: the workout as written and all that is needed to do it well."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from members.models import Membership
from scoring import access
from scoring.core import catalogue
from scoring.core.course import MAX_SET_REPS, Course, CourseLine
from scoring.core.credits import Choice, credit_for
from scoring.core.figures import figure
from scoring.core.prescription import Workout, clock_text
from scoring.core.scoring import Rules
from scoring.mapping import course_of, prescription, rules_of
from scoring.models import State, StreamedClass
from scoring.selectors.classes import result_in

from .strip import strip
from .viewer import class_or_404, members_only


@dataclass(frozen=True, slots=True)
class Standard:
    """A movement of the workout: what makes a rep good, what to watch, what it needs."""

    name: str
    standard: str
    caution: str
    gear: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Offered:
    """An option of a line, and what a rep of it counts."""

    line: str
    movement: str
    option: str
    credit: str
    source: str


def standards(workout: Workout) -> list[Standard]:
    """Every movement of a workout once, options too; coaches' own have no standard here."""
    found: dict[str, Standard] = {}
    for block in workout.blocks:
        for line in block.lines:
            for name in (line.movement, *(o.movement for o in line.options)):
                known = catalogue.find(name)
                if name not in found:
                    found[name] = Standard(
                        name,
                        known.standard if known else "",
                        known.caution if known else "",
                        known.gear if known else (),
                    )
    return list(found.values())


def offered(course: Course, rules: Rules) -> list[Offered]:
    """Every option of the course with its credit."""
    return [
        Offered(line.number, line.line.movement, option.label, *_credit(line, number, rules))
        for line in course.lines
        for number, option in enumerate(line.line.options)
    ]


def _credit(line: CourseLine, number: int, rules: Rules) -> tuple[str, str]:
    credit, source = credit_for(
        line, Choice(line.index, number), rules.table, above_one=rules.above_one
    )
    return figure(credit, most=4), source


def briefing(streamed: StreamedClass) -> dict[str, Any]:
    """All that is needed to do a class well, for members' and coaches' pages alike."""
    course = course_of(streamed)
    listed = standards(prescription(streamed.workout.text))
    endless = any(s.count == MAX_SET_REPS for s in course.sets)
    return {
        "is_scored": bool(course.blocks),
        "cap": clock_text(course.limit) if course.limit else "",
        "total": 0 if endless else course.total,
        "strip": strip(course),
        "standards": listed,
        "cautioned": [s for s in listed if s.caution],
        "gear": sorted({piece for s in listed for piece in s.gear}),
        "offered": offered(course, rules_of(streamed)),
        "has_loads": any(line.line.load for line in course.lines),
    }


@require_safe
@members_only
def class_page(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The class before, while and after it is open."""
    streamed = class_or_404(viewer, pk)
    return render(
        request,
        "scoring/class.html",
        {
            "streamed": streamed,
            "is_before": streamed.starts_at > timezone.now(),
            "is_open": streamed.state == State.OPEN,
            "may_manage": access.may_manage(viewer, streamed),
            "own": result_in(streamed_class=streamed, member=viewer),
        }
        | briefing(streamed),
    )
