"""A class: the workout as written and all that is needed to do it well."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from members.models import Membership
from scoring import access
from scoring.core.course import MAX_SET_REPS
from scoring.core.figures import figure
from scoring.core.prescription import clock_text
from scoring.mapping import course_of, prescription, rules_of
from scoring.models import State, StreamedClass
from scoring.selectors.briefing import gear, offered, standards
from scoring.selectors.classes import result_in
from scoring.selectors.setups import setup_for, version_for

from .strip import strip
from .viewer import class_or_404, members_only


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
        "gear": gear(listed),
        "offered": offered(course, rules_of(streamed)),
        "has_loads": any(line.line.load for line in course.lines),
    }


def my_version(streamed: StreamedClass, viewer: Membership) -> list[dict[str, Any]]:
    """Where a member's own version is another than what is written."""
    return [
        {"fit": fit, "credit": figure(fit.credit, most=4) if fit.credit else ""}
        for fit in version_for(streamed_class=streamed, member=viewer)
        if not fit.is_as_written
    ]


@require_safe
@members_only
def class_page(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The class before, while and after it is open."""
    streamed = class_or_404(viewer, pk)
    setup = setup_for(member=viewer, viewer=viewer)
    return render(
        request,
        "scoring/class.html",
        {
            "streamed": streamed,
            "is_before": streamed.starts_at > timezone.now(),
            "is_open": streamed.state == State.OPEN,
            "may_manage": access.may_manage(viewer, streamed),
            "own": result_in(streamed_class=streamed, member=viewer),
            "mine": my_version(streamed, viewer),
            "told_gear": bool(setup and setup.has_told_gear),
        }
        | briefing(streamed),
    )
