"""The briefing: one page to read before a class, and to print."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from members.models import Membership
from scoring.core.figures import figure
from scoring.core.pacing import hints, plan_text, plans
from scoring.core.prescription import clock_text
from scoring.mapping import course_of, prescription, rules_of
from scoring.selectors.briefing import STOP, gear, offered, parts, standards
from scoring.selectors.setups import version_for

from .viewer import class_or_404, members_only


@require_safe
@members_only
def briefing(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """What to do, how it counts, what to watch, and a plan to start from."""
    streamed = class_or_404(viewer, pk)
    course = course_of(streamed)
    workout = prescription(streamed.workout.text)
    listed = standards(workout)
    mine = version_for(streamed_class=streamed, member=viewer)
    return render(
        request,
        "scoring/briefing.html",
        {
            "streamed": streamed,
            "parts": parts(workout),
            "is_scored": bool(course.blocks),
            "has_many": len(course.blocks) > 1,
            "cap": clock_text(course.limit) if course.limit else "",
            "total": course.total,
            "gear": gear(listed),
            "mine": [
                {"fit": fit, "credit": figure(fit.credit, most=4) if fit.credit else ""}
                for fit in mine
            ],
            "offered": offered(course, rules_of(streamed)),
            "standards": listed,
            "cautioned": [s for s in listed if s.caution],
            "stop": STOP,
            "hints": hints(course),
            "plans": [{"block": p.block, "text": plan_text(p)} for p in plans(workout)],
        },
    )
