"""Briefing members: the one link they need, a screen for the stream, the coach's own sheet."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from members import qr
from members.models import Membership
from scoring.core.prescription import clock_text
from scoring.core.scoring import Rules
from scoring.mapping import course_of, prescription, rules_of
from scoring.models import State, StreamedClass
from scoring.selectors.briefing import STOP, Offered, Standard, gear, offered, parts, standards
from scoring.selectors.forecasts import typical
from scoring.selectors.link import invitation_text
from scoring.selectors.plan import zone_of

from .course_rows import course_rows
from .pace_words import pace_rows
from .screen_fit import Briefed, steps, whole
from .viewer import class_or_404, class_to_manage, coaches_only, members_only

SCREEN_STOP = f"{STOP} Choose the easier option whenever the standard would slip."


def class_url(request: HttpRequest, streamed: StreamedClass) -> str:
    """The class's address as others reach it."""
    return request.build_absolute_uri(reverse("class", args=[streamed.pk]))


@require_safe
@coaches_only
def link(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The link to pass on, as text and as a picture."""
    streamed = class_to_manage(viewer, pk)
    address = class_url(request, streamed)
    context = {
        "streamed": streamed,
        "address": address,
        "picture": qr.picture(address),
        "text": invitation_text(streamed, address),
        "is_draft": streamed.state == State.DRAFT,
    }
    return render(request, "scoring/coach/class_link.html", context)


@require_safe
@members_only
def screen(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """All of a class on one big screen to show on the stream, or in steps."""
    streamed = class_or_404(viewer, pk)
    address = class_url(request, streamed)
    told = _briefed(streamed)
    all_of_it, in_steps = whole(told), steps(told)
    number = request.GET.get("step", "")
    wanted = int(number) if number in [str(n) for n in range(1, len(in_steps) + 1)] else 0
    if not wanted and all_of_it is None:
        wanted = 1
    step = in_steps[wanted - 1] if wanted else all_of_it
    assert step is not None
    course = course_of(streamed)
    context: dict[str, Any] = {
        "streamed": streamed,
        "step": step,
        "board": ["\n".join(block) for block in step.board],
        "rows": told.rows if step.has_rows else None,
        "cap": clock_text(course.limit) if course.limit else "",
        "stop": SCREEN_STOP,
        "address": address,
        "bare": address.split("//", 1)[-1],
        "picture": qr.picture(address),
        "number": wanted,
        "numbers": range(1, len(in_steps) + 1),
        "has_whole": all_of_it is not None,
        "before": wanted - 1,
        "after": wanted + 1 if wanted and wanted < len(in_steps) else 0,
        "is_scored": bool(course.blocks),
    }
    return render(request, "scoring/coach/screen.html", context)


def _briefed(streamed: StreamedClass) -> Briefed:
    workout, course = prescription(streamed.workout.text), course_of(streamed)
    return Briefed(
        workout.title,
        tuple(parts(workout).workout.splitlines()),
        _offered(streamed, rules_of(streamed)),
        _of_lines(streamed),
        course_rows(course),
        SCREEN_STOP,
    )


def _offered(streamed: StreamedClass, rules: Rules) -> tuple[Offered, ...]:
    """Each option once, where several lines offer it for the same credit."""
    found = {(o.movement, o.option, o.credit): o for o in offered(course_of(streamed), rules)}
    return tuple(found.values())


def _of_lines(streamed: StreamedClass) -> tuple[Standard, ...]:
    """Standards of the movements as prescribed; those of options stand on the class's page."""
    workout = prescription(streamed.workout.text)
    shown = workout.scored_blocks or workout.blocks
    names = {line.movement for block in shown for line in block.lines}
    return tuple(s for s in standards(workout) if s.name in names and s.standard)


@require_safe
@coaches_only
def sheet(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The coach's own sheet: all of a class on one A4, to lay beside the camera."""
    streamed = class_to_manage(viewer, pk)
    workout, course = prescription(streamed.workout.text), course_of(streamed)
    listed = standards(workout)
    address = class_url(request, streamed)
    local = streamed.starts_at.astimezone(zone_of(viewer))
    context = {
        "streamed": streamed,
        "starts": f"{local:%A %-d %B %Y, %H:%M}",
        "parts": parts(workout),
        "rows": course_rows(course),
        "pace": pace_rows(course, typical(gym=streamed.gym, workout=workout)),
        "cap": clock_text(course.limit) if course.limit else "",
        "total": course.total,
        "offered": _offered(streamed, rules_of(streamed)),
        "standards": _of_lines(streamed),
        "cautioned": [s for s in listed if s.caution],
        "gear": gear(listed),
        "stop": STOP,
        "address": address,
        "bare": address.split("//", 1)[-1],
        "picture": qr.picture(address),
    }
    return render(request, "scoring/coach/sheet.html", context)
