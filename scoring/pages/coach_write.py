"""The coach writes a class: the board's text, what it comes to, and a draft of it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from members.keys import is_key
from members.limits import limited
from members.models import Membership
from scoring.models import StreamedClass
from scoring.problems import Refused, refuse
from scoring.selectors.workouts import workout_for
from scoring.services.classes import (
    change_draft,
    create_class,
)

from .group_fields import group_given, name_choices
from .local_time import field_time, read_local
from .plan_read import begun_with
from .plan_view import previewed, with_added
from .viewer import class_to_manage, coaches_only

EXAMPLE = """Two ladders and a tide
cap 18:00

2 rounds, not scored
10 air squat
0:20 plank

18-12-6
goblet squat @ 20 kg
  or air squat, credit 0.7
hollow rock
  or tuck rock, credit 0.75

amrap in the time left
4 push press @ 16 kg
  or @ 10 kg
8 reverse lunge, alternating

1 round, not scored
0:40 child's pose
"""

WAYS = (
    ("18-12-6", "a ladder: so many of each movement, then so many"),
    ("5 rounds", "rounds of counted movements"),
    ("for time", "one round of counted movements"),
    ("amrap 12:00", "as many rounds as possible; after other blocks: amrap in the time left"),
    ("every 1:00 for 10 rounds", "intervals; the last movement may be max"),
    ("rest 2:00", "a rest between blocks"),
    ("max load, 3 reps", "the heaviest load"),
    ("2 rounds, not scored", "a warm-up before the scored part, a cool-down behind it"),
)
"""How a block may begin, and what that is."""


def _given(request: HttpRequest) -> dict[str, Any]:
    """What was typed, as it was."""
    given: dict[str, Any] = {
        name: request.POST.get(name, "")
        for name in ("text", "starts_at", "closes_at", "note", "tie_break_block")
    }
    given |= {name: name in request.POST for name in ("weighted", "above_one")}
    return given | group_given(request.POST)


def _at(given: dict[str, Any]) -> datetime:
    """When the class starts, as far as that can be told yet."""
    try:
        return read_local(str(given["starts_at"]))
    except Refused:
        return timezone.now()


@require_POST
@limited("preview")
@coaches_only
def workout_preview(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """The preview alone, while the coach types or adds an option to the text."""
    given = _given(request)
    context: dict[str, Any] = {"is_live": True, "given": given}
    if "add" in request.POST:
        try:
            given["text"], context["added"] = with_added(given["text"], request.POST["add"])
        except Refused as refused:
            context["faults"] = refused.items
    context |= previewed(viewer, given, _at(given))
    return render(request, "scoring/coach/_preview.html", context)


def _form(request: HttpRequest, viewer: Membership, streamed: StreamedClass | None) -> HttpResponse:
    added, faults = "", []
    if request.method == "POST":
        given = _given(request)
        if "add" in request.POST:
            try:
                given["text"], added = with_added(given["text"], request.POST["add"])
            except Refused as refused:
                faults = refused.items
    elif streamed is not None:
        given = {
            "text": streamed.workout.text,
            "starts_at": field_time(streamed.starts_at),
            "closes_at": field_time(streamed.closes_at),
            "note": streamed.note,
            "weighted": streamed.weighted,
            "above_one": streamed.above_one,
            "tie_break_block": streamed.tie_break_block or "",
        }
    else:
        again = request.GET.get("from", "")
        before = workout_for(viewer=viewer, pk=int(again)) if is_key(again) else None
        tomorrow = timezone.localtime() + timedelta(days=1)
        given = dict.fromkeys(("text", "note", "tie_break_block", "closes_at"), "")
        given["starts_at"] = tomorrow.strftime("%Y-%m-%dT18:00")
        given["text"] = before.text if before else ""
        given |= begun_with(request, viewer)
    if request.method != "POST":
        given |= group_given(request.GET)
    context: dict[str, Any] = {
        "given": given,
        "choices": name_choices(viewer, given),
        "streamed": streamed,
        "example": EXAMPLE,
        "ways": WAYS,
        "added": added,
        "faults": faults,
        "is_blank": "" if str(given["text"]).strip() else "yes",
        "fault": dict.fromkeys(("starts_at", "closes_at", "note", "tie_break_block"), ""),
        **previewed(viewer, given, _at(given)),
    }
    if request.method != "POST" or not request.POST.keys().isdisjoint(("preview", "add")):
        status = 422 if faults else 200
        return render(request, "scoring/coach/write.html", context, status=status)
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
    closes = given["closes_at"]
    settings: dict[str, Any] = {
        "text": given["text"],
        "starts_at": read_local(given["starts_at"]),
        "closes_at": read_local(closes, "closes_at") if closes.strip() else None,
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
