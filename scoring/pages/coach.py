"""The coach's pages: write a class, open and close it, see who logged, log and correct."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_http_methods, require_POST

from members.keys import is_key
from members.models import Membership
from members.selectors import members_of
from scoring import access, enqueue
from scoring.core.marks import examples
from scoring.core.prescription import clock_text
from scoring.mapping import course_of, read_unbroken
from scoring.models import Result, State, StreamedClass
from scoring.problems import Item, Refused, refuse
from scoring.selectors.classes import logged_and_missing
from scoring.selectors.requests import pains_of, request_for, requests_of
from scoring.selectors.results import result_for
from scoring.selectors.workouts import workout_for
from scoring.services.classes import (
    change_draft,
    close_class,
    create_class,
    open_class,
    reopen_class,
)
from scoring.services.correcting import correct_result, withdraw_result
from scoring.services.reading import possible_unbroken
from scoring.services.requests import answer_request
from scoring.services.submitting import ResultInput, submit_result
from scoring.services.workouts import preview

from .class_page import briefing
from .strip import strip
from .viewer import class_or_404, coaches_only

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


def _managed(viewer: Membership, pk: int) -> StreamedClass:
    streamed = class_or_404(viewer, pk)
    if not access.may_manage(viewer, streamed):
        raise Http404
    return streamed


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
    return _form(request, viewer, _managed(viewer, pk))


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def class_manage(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """A class while it runs and after: its state, who logged, who didn't."""
    streamed = _managed(viewer, pk)
    faults: list[Item] = []
    if request.method == "POST":
        try:
            said = _act(request, viewer, streamed)
            messages.success(request, said)
            return redirect("class-manage", pk=pk)
        except Refused as refused:
            faults = refused.items
    there = logged_and_missing(streamed_class=streamed, viewer=viewer)
    missing = there.missing if there else []
    usual = there.usual if there else frozenset()
    post = request.POST
    # What was typed stands again only in the form it came from.
    logging = post.get("act") == "log"
    typed = {name: post.get(name, "") for name in ("mark", "options", "splits", "reason")}
    context = briefing(streamed) | {
        "streamed": streamed,
        "there": there,
        "asked": requests_of(streamed_class=streamed, viewer=viewer),
        "pains": pains_of(streamed_class=streamed, viewer=viewer),
        "usual": [m for m in missing if m.pk in usual],
        "others": [m for m in missing if m.pk not in usual],
        "members": members_of(streamed.gym),
        "examples": _examples(streamed),
        "faults": faults,
        "given": typed if logging else dict.fromkeys(typed, ""),
        "typed": typed,
        "chosen": post.get("member", "") if logging else request.GET.get("for", ""),
        "wrong": "" if logging else post.get("result", ""),
        "key": request.POST.get("key") or uuid.uuid4().hex,
        "is_draft": streamed.state == State.DRAFT,
        "is_open": streamed.state == State.OPEN,
        "is_closed": streamed.state == State.CLOSED,
    }
    return render(request, "scoring/coach/manage.html", context, status=422 if faults else 200)


def _examples(streamed: StreamedClass) -> str:
    course = course_of(streamed)
    return examples(course) if course.blocks else ""


def _act(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> str:
    """Do what a button of the page asks for; answers what was done."""
    now, post = timezone.now(), request.POST
    act = post.get("act", "")
    if act == "open":
        open_class(streamed_class=streamed, by=viewer, now=now)
        enqueue.class_opened(class_id=streamed.pk)
        return "The class is open: members see it and can log."
    if act == "close":
        close_class(streamed_class=streamed, by=viewer, now=now)
        return "The class is closed."
    if act == "reopen":
        reopen_class(streamed_class=streamed, by=viewer, now=now)
        return "The class is open again."
    data = ResultInput(
        mark=post.get("mark", ""),
        options=post.get("options", ""),
        splits=post.get("splits", ""),
        note=post.get("note", ""),
    )
    reason = post.get("reason", "")
    if act in ("accept", "decline"):
        return _answer(request, viewer, streamed, accept=act == "accept")
    if act == "log":
        asked = post.get("member", "")
        member = members_of(streamed.gym).filter(pk=int(asked) if is_key(asked) else 0).first()
        if member is None:
            raise refuse("member", "Choose whose result it is.", "Pick a name from the list.")
        done = submit_result(
            streamed_class=streamed,
            member=member,
            entered_by=viewer,
            data=data,
            key=post.get("key", "")[:255],
            now=now,
            reason=reason,
        )
        enqueue.result_corrected(fact_id=done.fact.pk)
        return f"Logged for {member.display_name}."
    result = _result(viewer, streamed, post.get("result", ""))
    if act == "correct":
        data = _with_what_stays(result, data)
        fact = correct_result(result=result, by=viewer, data=data, reason=reason, now=now)
        enqueue.result_corrected(fact_id=fact.pk)
        return f"Corrected for {result.member.display_name}; both stay on record."
    if act == "withdraw":
        fact = withdraw_result(result=result, by=viewer, reason=reason, now=now)
        enqueue.result_corrected(fact_id=fact.pk)
        return f"{result.member.display_name}'s result is off the board; it stays on record."
    raise refuse("act", "That button is not known.", "Reload the page.")


def _with_what_stays(result: Result, data: ResultInput) -> ResultInput:
    """The member's own note, effort and unbroken sets, which this form doesn't ask for."""
    current = result.current
    if current is None:
        return data
    unbroken = possible_unbroken(result.streamed_class, data.mark, read_unbroken(current.unbroken))
    return replace(data, note=current.note, effort=current.effort, unbroken=unbroken)


def _answer(
    request: HttpRequest, viewer: Membership, streamed: StreamedClass, *, accept: bool
) -> str:
    asked = request.POST.get("request", "")
    found = request_for(viewer=viewer, pk=int(asked) if is_key(asked) else 0)
    if found is None or found.streamed_class_id != streamed.pk:
        raise refuse("request", "That request is not of this class.", "Reload the page.")
    answer_request(
        request=found,
        by=viewer,
        accept=accept,
        words=request.POST.get("words", ""),
        now=timezone.now(),
    )
    enqueue.request_answered(request_id=found.pk)
    who = found.member.display_name
    return f"Accepted: {who}'s result is changed." if accept else f"Declined; {who} sees why."


def _result(viewer: Membership, streamed: StreamedClass, asked: str) -> Result:
    result = result_for(viewer=viewer, pk=int(asked)) if is_key(asked) else None
    if result is None or result.streamed_class_id != streamed.pk:
        raise refuse("result", "That result is not of this class.", "Reload the page.")
    return result
