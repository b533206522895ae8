"""Logging where the clock caught one, by taps or as text."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from members.models import Membership
from scoring.core.course import Course, PlaceError
from scoring.core.marks import examples
from scoring.mapping import course_of
from scoring.models import State, StreamedClass
from scoring.problems import Refused, refuse
from scoring.selectors.classes import result_in
from scoring.services.submitting import ChoiceInput, ResultInput, submit_result, try_score

from .viewer import class_or_404, members_only

MAX_PICKED = 60
EFFORTS = [
    (0, "0: rest"), (1, "1"), (2, "2: easy"), (3, "3"), (4, "4: steady"), (5, "5"),
    (6, "6: hard, could talk"), (7, "7"), (8, "8: very hard"), (9, "9"), (10, "10: nothing left"),
]  # fmt: skip


def _number(text: str) -> int | None:
    text = text.strip()
    return int(text) if text.isascii() and text.isdigit() and len(text) < 8 else None


def _mark(course: Course, post: QueryDict) -> str:
    """The mark as text: typed, or made of what was tapped."""
    typed = post.get("mark", "").strip()
    if typed:
        return typed
    where, reps = post.get("where", ""), _number(post.get("reps", "") or "0")
    if not where or reps is None:
        return ""
    if where == "amrap":
        rounds = _number(post.get("rounds", "") or "0")
        return "" if rounds is None else f"{rounds}+{reps}"
    index = _number(where)
    if index is None or index >= len(course.sets):
        raise refuse("mark", "That set is not on the course.", "Tap the set you were in.")
    here = course.set_at(index)
    if reps > here.reps:
        raise refuse(
            "mark",
            f"That set has {here.reps} reps of {here.line.line.movement}.",
            f"Write 0 to {here.reps}.",
        )
    try:
        return f"{course.raw_of_set(index) + reps} reps"
    except PlaceError as error:
        raise refuse("mark", str(error), f"Write {examples(course)}.") from None


def _input(course: Course, post: QueryDict) -> ResultInput:
    choices = []
    for line in course.lines:
        option = post.get(f"option-{line.number}", "").strip()
        load = post.get(f"load-{line.number}", "").strip()
        if load:
            kilograms = load if load[-1:].isalpha() else f"{load} kg"
            option = f"{option or line.line.movement} @ {kilograms}"
        if option:
            count = _number(post.get(f"count-{line.number}", ""))
            choices.append(ChoiceInput(line.number, option, count))
    splits = {str(block.number): post.get(f"split-{block.number}", "") for block in course.blocks}
    return ResultInput(
        mark=_mark(course, post),
        choices=tuple(choices),
        splits=splits,
        note=post.get("note", "").strip(),
        effort=_number(post.get("effort", "")),
    )


def _context(streamed: StreamedClass, viewer: Membership, post: QueryDict) -> dict[str, Any]:
    course = course_of(streamed)
    picked = [
        {
            "index": s.index,
            "where": course.where(s),
            "reps": s.reps,
            "movement": s.line.line.movement,
        }
        for s in course.sets[:MAX_PICKED]
        if course.limit and course.workout_block(1).seconds is None
    ]
    lines = [
        {
            "number": line.number,
            "movement": line.line.movement,
            "load": line.line.load,
            "options": [o.label for o in line.line.options],
            "chosen": post.get(f"option-{line.number}", ""),
            "own_load": post.get(f"load-{line.number}", ""),
            "count": post.get(f"count-{line.number}", ""),
        }
        for line in course.lines
        if line.line.options or line.line.load
    ]
    splits = [
        {"number": b.number, "value": post.get(f"split-{b.number}", "")}
        for b in course.blocks
        if course.limit and (b.number < len(course.blocks) or not course.is_endless)
    ]
    return {
        "streamed": streamed,
        "course": course,
        "own": result_in(streamed_class=streamed, member=viewer),
        "picked": picked,
        "lines": lines,
        "splits": splits,
        "efforts": [(str(value), label) for value, label in EFFORTS],
        "examples": examples(course),
        "post": post,
        "key": post.get("key") or uuid.uuid4().hex,
        "is_open": streamed.state == State.OPEN,
    }


@require_http_methods(["GET", "HEAD", "POST"])
@members_only
def log(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The form; what was typed stays when something is wrong with it."""
    streamed = class_or_404(viewer, pk)
    context = _context(streamed, viewer, request.POST)
    if request.method != "POST":
        return render(request, "scoring/log.html", context)
    try:
        data = _input(course_of(streamed), request.POST)
        if "try" in request.POST:
            context["scored"], context["told"] = try_score(streamed_class=streamed, data=data)
            return render(request, "scoring/log.html", context)
        sent = submit_result(
            streamed_class=streamed,
            member=viewer,
            entered_by=viewer,
            data=data,
            key=request.POST.get("key", "")[:255],
            now=timezone.now(),
        )
    except Refused as refused:
        context["faults"] = refused.items
        return render(request, "scoring/log.html", context, status=422)
    messages.success(request, f"Logged: {sent.fact.mark}.")
    return redirect("result", pk=sent.result.pk)


@require_POST
@members_only
def try_out(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """What the form would score, without keeping it."""
    streamed = class_or_404(viewer, pk)
    context: dict[str, Any] = {"streamed": streamed}
    try:
        data = _input(course_of(streamed), request.POST)
        if data.mark:
            context["scored"], context["told"] = try_score(streamed_class=streamed, data=data)
    except Refused as refused:
        context["faults"] = refused.items
    return render(request, "scoring/_tried.html", context)
