"""What the buttons of a class's page do: each calls one service and says what was done."""

from __future__ import annotations

from dataclasses import replace

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from members.keys import is_key
from members.models import Membership
from members.selectors import members_of
from scoring import enqueue, metrics
from scoring.mapping import read_unbroken
from scoring.models import Result, StreamedClass
from scoring.problems import refuse
from scoring.selectors.requests import request_for
from scoring.selectors.results import result_for
from scoring.services.classes import close_class, open_class, reopen_class
from scoring.services.closing import set_closing
from scoring.services.correcting import correct_result, withdraw_result
from scoring.services.lines import undo_line
from scoring.services.questions import answer_question
from scoring.services.reading import possible_unbroken
from scoring.services.requests import answer_request
from scoring.services.submitting import ResultInput, submit_result

from .local_time import read_local


def act(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> HttpResponse:
    """Do what a button of the page asks for, and lead back to where it stood."""
    acts = {
        "open": _change_state, "close": _change_state, "reopen": _change_state,
        "closing": _set_closing, "undo": _undo,
        "log": _log, "correct": _correct, "withdraw": _withdraw,
        "accept": _answer, "decline": _answer, "right": _find_right,
    }  # fmt: skip
    asked = acts.get(request.POST.get("act", ""))
    if asked is None:
        raise refuse("act", "That button is not known.", "Reload the page.")
    said, part = asked(request, viewer, streamed)
    messages.success(request, said)
    return redirect(reverse("class-manage", args=[streamed.pk]) + part)


Told = tuple[str, str]
"""What was done, in words, and the part of the page to lead back to."""


def _change_state(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> Told:
    now = timezone.now()
    if request.POST["act"] == "open":
        open_class(streamed_class=streamed, by=viewer, now=now)
        enqueue.class_opened(class_id=streamed.pk)
        enqueue.forecast_class(class_id=streamed.pk)
        return "The class is open: members see it and can log.", ""
    if request.POST["act"] == "close":
        close_class(streamed_class=streamed, by=viewer, now=now)
        enqueue.class_closed(class_id=streamed.pk)
        enqueue.forecast_class(class_id=streamed.pk)
        enqueue.estimate(gym_id=streamed.gym_id)
        return "The class is closed.", ""
    reopen_class(streamed_class=streamed, by=viewer, now=now)
    return "The class is open again.", ""


def _set_closing(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> Told:
    asked = request.POST.get("closes_at", "")
    moment = read_local(asked, "closes_at") if asked.strip() else None
    set_closing(streamed_class=streamed, by=viewer, closes_at=moment, now=timezone.now())
    said = (
        "The class closes by itself then." if moment else "The class stays open until you close it."
    )
    return said, "#state"


def _input(request: HttpRequest) -> ResultInput:
    post = request.POST
    return ResultInput(
        mark=post.get("mark", ""),
        options=post.get("options", ""),
        splits=post.get("splits", ""),
        note=post.get("note", ""),
    )


def _log(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> Told:
    post = request.POST
    asked = post.get("member", "")
    member = members_of(streamed.gym).filter(pk=int(asked) if is_key(asked) else 0).first()
    if member is None:
        raise refuse("member", "Choose whose result it is.", "Pick a name from the list.")
    done = submit_result(
        streamed_class=streamed,
        member=member,
        entered_by=viewer,
        data=_input(request),
        key=post.get("key", "")[:255],
        now=timezone.now(),
        reason=post.get("reason", ""),
    )
    metrics.result_sent("coach", done)
    enqueue.result_corrected(fact_id=done.fact.pk)
    return f"Logged for {member.display_name}.", "#logged"


def _correct(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> Told:
    result = _result(viewer, streamed, request.POST.get("result", ""))
    fact = correct_result(
        result=result,
        by=viewer,
        data=_with_what_stays(result, _input(request)),
        reason=request.POST.get("reason", ""),
        now=timezone.now(),
    )
    enqueue.result_corrected(fact_id=fact.pk)
    return f"Corrected for {result.member.display_name}; both stay on record.", "#logged"


def _withdraw(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> Told:
    result = _result(viewer, streamed, request.POST.get("result", ""))
    reason = request.POST.get("reason", "")
    fact = withdraw_result(result=result, by=viewer, reason=reason, now=timezone.now())
    enqueue.result_corrected(fact_id=fact.pk)
    name = result.member.display_name
    return f"{name}'s result is off the board; it stays on record.", "#logged"


def _undo(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> Told:
    asked = request.POST.get("fact", "")
    fact = undo_line(
        streamed_class=streamed,
        fact_id=int(asked) if is_key(asked) else 0,
        by=viewer,
        now=timezone.now(),
    )
    enqueue.result_corrected(fact_id=fact.pk)
    name = fact.result.member.display_name
    if fact.is_withdrawn:
        return f"Undone: {name}'s result is off the board.", "#log"
    return f"Undone: {name}'s result is {fact.mark} again.", "#log"


def _find_right(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> Told:
    fact, _, kind = request.POST.get("question", "").partition("-")
    answer = answer_question(
        streamed_class=streamed,
        fact_id=int(fact) if is_key(fact) else 0,
        kind=kind,
        by=viewer,
        now=timezone.now(),
    )
    return f"{answer.member.display_name}'s result stays as it is.", "#questions"


def _answer(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> Told:
    asked, accept = request.POST.get("request", ""), request.POST["act"] == "accept"
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
    said = f"Accepted: {who}'s result is changed." if accept else f"Declined; {who} sees why."
    return said, "#asked"


def _with_what_stays(result: Result, data: ResultInput) -> ResultInput:
    """The member's own note, effort and unbroken sets, which this form doesn't ask for."""
    current = result.current
    if current is None:
        return data
    unbroken = possible_unbroken(result.streamed_class, data.mark, read_unbroken(current.unbroken))
    return replace(data, note=current.note, effort=current.effort, unbroken=unbroken)


def result_of(viewer: Membership, streamed: StreamedClass, asked: str) -> Result | None:
    result = result_for(viewer=viewer, pk=int(asked)) if is_key(asked) else None
    return result if result and result.streamed_class_id == streamed.pk else None


def _result(viewer: Membership, streamed: StreamedClass, asked: str) -> Result:
    result = result_of(viewer, streamed, asked)
    if result is None:
        raise refuse("result", "That result is not of this class.", "Reload the page.")
    return result
