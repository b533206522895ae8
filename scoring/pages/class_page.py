"""A class: the workout as written and all that is needed to do it well."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from members.models import Membership
from scoring import access
from scoring.core.figures import figure
from scoring.core.prescription import clock_text
from scoring.mapping import course_of, prescription, rules_of
from scoring.models import State
from scoring.selectors.briefing import gear, offered, standards
from scoring.selectors.classes import result_in
from scoring.selectors.setups import version_for

from .strip import strip
from .viewer import class_or_404, members_only


@require_safe
@members_only
def class_page(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The class before, while and after it is open."""
    streamed = class_or_404(viewer, pk)
    course = course_of(streamed)
    workout = prescription(streamed.workout.text)
    listed = standards(workout)
    return render(
        request,
        "scoring/class.html",
        {
            "streamed": streamed,
            "is_before": streamed.starts_at > timezone.now(),
            "is_open": streamed.state == State.OPEN,
            "is_scored": bool(course.blocks),
            "may_manage": access.may_manage(viewer, streamed),
            "own": result_in(streamed_class=streamed, member=viewer),
            "cap": clock_text(course.limit) if course.limit else "",
            "total": course.total,
            "strip": strip(course),
            "standards": listed,
            "cautioned": [s for s in listed if s.caution],
            "gear": gear(listed),
            "offered": offered(course, rules_of(streamed)),
            "mine": [
                {"fit": fit, "credit": figure(fit.credit, most=4) if fit.credit else ""}
                for fit in version_for(streamed_class=streamed, member=viewer)
                if not fit.is_as_written
            ],
            "has_loads": any(line.line.load for line in course.lines),
        },
    )
