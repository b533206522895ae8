"""A class while it runs and after: open and close it, see who logged, log and correct."""

from __future__ import annotations

import uuid
from dataclasses import replace

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from members.keys import is_key
from members.models import Membership
from members.selectors import members_of
from scoring import enqueue
from scoring.core.marks import examples
from scoring.mapping import course_of, read_unbroken
from scoring.models import Result, State, StreamedClass
from scoring.problems import Item, Refused, refuse
from scoring.selectors.classes import logged_and_missing
from scoring.selectors.requests import pains_of, request_for, requests_of
from scoring.selectors.results import result_for
from scoring.services.classes import (
    close_class,
    open_class,
    reopen_class,
)
from scoring.services.correcting import correct_result, withdraw_result
from scoring.services.reading import possible_unbroken
from scoring.services.requests import answer_request
from scoring.services.submitting import ResultInput, submit_result

from .class_page import briefing
from .viewer import class_to_manage, coaches_only


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def class_manage(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """A class while it runs and after: its state, who logged, who didn't."""
    streamed = class_to_manage(viewer, pk)
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
        enqueue.class_closed(class_id=streamed.pk)
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
