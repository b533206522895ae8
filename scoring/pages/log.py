"""Logging one's own result, and trying a mark out while the form is filled in."""

from __future__ import annotations

from hashlib import sha256
from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from members.limits import limited
from members.models import Membership
from scoring import metrics
from scoring.core.figures import figure
from scoring.core.scoring import Result as CoreResult
from scoring.mapping import course_of, rules_of
from scoring.models import State, StreamedClass
from scoring.problems import Item, Refused, refuse
from scoring.selectors.asked_first import asked_first
from scoring.selectors.classes import result_in
from scoring.selectors.requests import pain_of, requests_by
from scoring.selectors.setups import version_for
from scoring.services.pains import tell_pain
from scoring.services.reading import read_result
from scoring.services.requests import ask_for_change
from scoring.services.submitting import ResultInput, submit_result

from .log_fields import log_fields
from .log_read import (
    Typed,
    read_form,
    read_hurts,
    typed_of,
    typed_of_pain,
    typed_of_version,
)
from .viewer import class_alone_or_404, class_or_404, members_only

STATUS = {"invalid": 422, "conflict": 409, "closed": 409, "forbidden": 403}


@require_http_methods(["GET", "HEAD", "POST"])
@limited("submit")
@members_only
def log(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """Where the clock caught the member; a second time it is a correction. In a closed class
    the same form asks the coach."""
    streamed = class_alone_or_404(viewer, pk)
    course = course_of(streamed)
    if not course.blocks:
        return render(request, "scoring/log_not.html", {"streamed": streamed, "is_scored": False})
    if streamed.state == State.DRAFT:
        return render(request, "scoring/log_not.html", {"streamed": streamed, "is_scored": True})
    if request.method == "POST":
        if request.POST.get("act") == "ask":
            return _ask(request, viewer, streamed)
        return _submit(request, viewer, streamed)
    own = result_in(streamed_class=streamed, member=viewer)
    if own and own.current:
        typed = typed_of(course, own.current)
    else:
        typed = typed_of_version(course, version_for(streamed_class=streamed, member=viewer))
    pain = pain_of(streamed_class=streamed, member=viewer, viewer=viewer)
    return _form(request, viewer, streamed, typed | typed_of_pain(pain), key=uuid4().hex)


def _submit(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> HttpResponse:
    typed = request.POST.dict()
    key = typed.get("key") or uuid4().hex
    if "try" in typed:
        return _form(request, viewer, streamed, typed, key=key)
    try:
        data = _with_mark(read_form(course_of(streamed), typed))
        read = read_result(course_of(streamed), rules_of(streamed), data)
        if _question(viewer, streamed, data, typed, read[0]):
            return _form(request, viewer, streamed, typed, key=key, is_sent=True)
        done = submit_result(
            streamed_class=streamed,
            member=viewer,
            entered_by=viewer,
            data=data,
            key=key,
            now=timezone.now(),
            pain=read_hurts(typed),
            read=read,
        )
    except Refused as refusal:
        metrics.refused(refusal)
        items = refusal.items
        if refusal.kind == "conflict":
            # Sent, then gone back and changed: under a new key it is the correction it is.
            key = uuid4().hex
            items = [
                Item("", "You sent this form before and then changed it.", "Look and send again.")
            ]
        status = STATUS[refusal.kind]
        return _form(request, viewer, streamed, typed, key=key, items=items, status=status)
    metrics.result_sent("page", done)
    messages.success(request, f"Logged: {done.fact.mark}.")
    return redirect("result", pk=done.result.pk)


def _with_mark(data: ResultInput) -> ResultInput:
    """Raises ``Refused`` in the words of the page where no set was tapped."""
    if not data.mark:
        raise refuse(
            "mark", "You have not said where the clock caught you.",
            "Tap the set you were in, then give the reps done in it.",
        )  # fmt: skip
    return data


def _question(
    viewer: Membership,
    streamed: StreamedClass,
    data: ResultInput,
    typed: Typed,
    result: CoreResult,
) -> dict[str, str]:
    """What is asked before a mark is kept, once; whoever sends the very same again with the
    token that came with the question says that it is right."""
    told = "\n".join(map(str, (data.mark, data.options, data.choices, data.splits)))
    token = sha256(told.encode()).hexdigest()[:16]
    if typed.get("sure") == token:
        return {}
    words = asked_first(streamed_class=streamed, member_id=viewer.pk, result=result)
    return {"words": words, "token": token} if words else {}


def _ask(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> HttpResponse:
    """Ask the coach of a closed class; what hurts is told at once, it needs nobody's yes."""
    typed, now = request.POST.dict(), timezone.now()
    try:
        pain = read_hurts(typed)
        tell_pain(
            streamed_class=streamed, member=viewer, areas=pain.areas, words=pain.words, now=now
        )
        ask_for_change(
            streamed_class=streamed,
            member=viewer,
            data=_with_mark(read_form(course_of(streamed), typed)),
            words=typed.get("words", ""),
            now=now,
        )
    except Refused as refusal:
        key, status = typed.get("key", ""), STATUS[refusal.kind]
        return _form(request, viewer, streamed, typed, key=key, items=refusal.items, status=status)
    messages.success(request, "Your coach is asked. The answer will stand on this page.")
    return redirect("class-log", pk=streamed.pk)


def _form(
    request: HttpRequest,
    viewer: Membership,
    streamed: StreamedClass,
    typed: Typed,
    *,
    key: str,
    items: list[Item] | None = None,
    is_sent: bool = False,
    status: int = 200,
) -> HttpResponse:
    course = course_of(streamed)
    context: dict[str, Any] = {
        "streamed": streamed,
        "is_closed": streamed.state == State.CLOSED,
        "requests": requests_by(streamed_class=streamed, member=viewer, viewer=viewer),
        "own": result_in(streamed_class=streamed, member=viewer),
        "form": log_fields(course, rules_of(streamed), typed, key=key, items=items),
    }
    if not items:
        context |= tried(viewer, streamed, typed) | {"is_asked": is_sent}
    return render(request, "scoring/log.html", context, status=status)


def tried(viewer: Membership, streamed: StreamedClass, typed: Typed) -> dict[str, Any]:
    """What a form's state comes to: a score, and what would be asked, or why there is none."""
    try:
        data = read_form(course_of(streamed), typed)
        if not data.mark:
            return {}
        result, score = read_result(course_of(streamed), rules_of(streamed), data)
        question = _question(viewer, streamed, data, typed, result)
    except Refused as refusal:
        return {"try_items": refusal.items}
    credited = figure(score.credited)
    return {"try_score": score, "try_credited": credited, "question": question}


@require_POST
@limited("preview")
@members_only
def try_out(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The live part of the form; nothing is kept."""
    streamed = class_or_404(viewer, pk)
    return render(request, "scoring/_live.html", tried(viewer, streamed, request.POST.dict()))
