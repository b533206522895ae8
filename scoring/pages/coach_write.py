"""The coach writes a class: the board's text, what it comes to, and a draft of it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_http_methods, require_POST

from members.keys import is_key
from members.models import Membership
from scoring.core.prescription import clock_text
from scoring.models import StreamedClass
from scoring.problems import Refused, refuse
from scoring.selectors.workouts import workout_for
from scoring.services.classes import (
    change_draft,
    create_class,
)
from scoring.services.workouts import preview

from .plan_read import begun_with
from .strip import strip
from .viewer import class_to_manage, coaches_only

EXAMPLE = """Two ladders and a tide
cap 18:00

18-12-6
goblet squat @ 20 kg
hollow rock
  or tuck rock, credit 0.75

amrap in the time left
4 push press @ 16 kg
8 reverse lunge
"""


def _when(text: str) -> datetime:
    """A local time of the coach, as a browser's field or a person writes it."""
    try:
        read = parse_datetime(text.strip())
    except ValueError:
        read = None
    if read is None:
        raise refuse("starts_at", "That is no date and time.", "Write 2026-12-01 18:30.")
    return read if timezone.is_aware(read) else timezone.make_aware(read)


def _previewed(text: str, weighted: bool) -> dict[str, Any]:
    """What a text comes to, for the page and for its live part."""
    if not text.strip():
        return {}
    seen = preview(text=text, weighted=weighted)
    told: dict[str, Any] = {"notes": seen.notes, "problems": seen.problems}
    if seen.course is not None:
        totals: dict[str, int] = {}
        for course_set in (*seen.course.sets, *seen.course.tail):
            name = course_set.line.line.movement
            totals[name] = totals.get(name, 0) + course_set.reps
        told |= {
            "strip": strip(seen.course),
            "total": seen.course.total,
            "limit": clock_text(seen.course.limit) if seen.course.limit else "",
            "is_endless": seen.course.is_endless,
            "totals": sorted(totals.items(), key=lambda pair: -pair[1]),
        }
    return told


@require_POST
@coaches_only
def workout_preview(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """The preview alone, while the coach types."""
    text, weighted = request.POST.get("text", ""), "weighted" in request.POST
    return render(request, "scoring/coach/_preview.html", _previewed(text, weighted))


def _form(request: HttpRequest, viewer: Membership, streamed: StreamedClass | None) -> HttpResponse:
    if request.method == "POST":
        given: dict[str, Any] = {
            name: request.POST.get(name, "") for name in ("text", "starts_at", "note")
        }
        given |= {name: name in request.POST for name in ("weighted", "above_one")}
        given["tie_break_block"] = request.POST.get("tie_break_block", "")
    elif streamed is not None:
        given = {
            "text": streamed.workout.text,
            "starts_at": timezone.localtime(streamed.starts_at).strftime("%Y-%m-%dT%H:%M"),
            "note": streamed.note,
            "weighted": streamed.weighted,
            "above_one": streamed.above_one,
            "tie_break_block": streamed.tie_break_block or "",
        }
    else:
        again = request.GET.get("from", "")
        before = workout_for(viewer=viewer, pk=int(again)) if is_key(again) else None
        tomorrow = timezone.localtime() + timedelta(days=1)
        given = dict.fromkeys(("text", "note", "tie_break_block"), "")
        given["starts_at"] = tomorrow.strftime("%Y-%m-%dT18:00")
        given["text"] = before.text if before else ""
        given |= begun_with(request, viewer)
    context: dict[str, Any] = {
        "given": given,
        "streamed": streamed,
        "example": EXAMPLE,
        "is_blank": "" if str(given["text"]).strip() else "yes",
        "fault": dict.fromkeys(("starts_at", "note", "tie_break_block"), ""),
        **_previewed(str(given["text"]), bool(given.get("weighted"))),
    }
    if request.method != "POST" or "preview" in request.POST:
        return render(request, "scoring/coach/write.html", context)
    try:
        saved = _save(viewer, streamed, given)
    except Refused as refused:
        context["faults"] = refused.items
        context["fault"] |= {i.column: f"{i.problem} {i.suggestion}".strip() for i in refused.items}
        return render(request, "scoring/coach/write.html", context, status=422)
    messages.success(request, "Saved as a draft. Members see it once you open it.")
    return redirect("class-manage", pk=saved.pk)


def _save(
    viewer: Membership, streamed: StreamedClass | None, given: dict[str, Any]
) -> StreamedClass:
    tie = str(given["tie_break_block"]).strip()
    if tie and not (tie.isascii() and tie.isdigit() and len(tie) < 4):
        raise refuse("tie_break_block", "That is no number of a block.", "Write 1, or leave it.")
    settings: dict[str, Any] = {
        "text": given["text"],
        "starts_at": _when(given["starts_at"]),
        "weighted": given["weighted"],
        "above_one": given["above_one"],
        "tie_break_block": int(tie) if tie else None,
        "note": given["note"].strip(),
    }
    if streamed is not None:
        return change_draft(streamed_class=streamed, by=viewer, **settings)
    return create_class(gym=viewer.gym, coach=viewer, **settings)


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def class_new(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Write a new class."""
    return _form(request, viewer, None)


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def class_edit(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """Change a draft."""
    return _form(request, viewer, class_to_manage(viewer, pk))
