"""A result opened up, and taking one's own off the board."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from members.limits import limited
from members.models import Membership
from scoring import access, enqueue
from scoring.core.body import advice
from scoring.models import Result, State
from scoring.problems import Refused
from scoring.selectors.after import after
from scoring.selectors.boards import board
from scoring.selectors.credit_changes import credits_of_result
from scoring.selectors.rank_ranges import likely_rank
from scoring.selectors.requests import pain_of, requests_by
from scoring.selectors.results import breakdown_for, result_for
from scoring.services.correcting import withdraw_result

from .log_fields import EFFORTS
from .opened_part import opened_part
from .viewer import members_only


def _found(viewer: Membership, pk: int) -> Result:
    found = result_for(viewer=viewer, pk=pk)
    if found is None:
        raise Http404
    return found


def _context(viewer: Membership, result: Result) -> dict[str, Any]:
    opened = breakdown_for(result=result, viewer=viewer)
    if opened is None:
        raise Http404
    streamed, current = result.streamed_class, result.current
    context: dict[str, Any] = {"streamed": streamed, "opened": opened, "current": current}
    if opened.score is not None and current is not None:
        context["part"] = opened_part(opened)
        context["credits"] = credits_of_result(result=result, viewer=viewer)
        if not opened.question:
            context["likely"] = likely_rank(result=result, rank=opened.rank, viewer=viewer)
    if opened.facts and current is not None and current.effort is not None:
        context["effort"] = EFFORTS[current.effort]
    return context


@require_safe
@members_only
def result_page(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """Every set, option, rep and credit, and the sentences that tell them."""
    result = _found(viewer, pk)
    is_open = result.streamed_class.state == State.OPEN
    context = _context(viewer, result) | {
        "may_change": viewer.pk == result.member_id and is_open,
        "may_manage": access.may_manage(viewer, result.streamed_class),
    }
    context |= _own_things(viewer, result)
    return render(request, "scoring/result.html", context)


def _own_things(viewer: Membership, result: Result) -> dict[str, Any]:
    """What its owner and coaches see beside a result: the time before, neighbours, what
    hurts with the usual caution, and what was asked of the coach."""
    if not access.may_see_private(viewer, result):
        return {}
    streamed, is_own = result.streamed_class, viewer.pk == result.member_id
    pain = pain_of(streamed_class=streamed, member=result.member, viewer=viewer)
    score = getattr(result, "score", None)
    shown = None
    if is_own and score is not None:
        shown = board(streamed_class=streamed, viewer=viewer, now=timezone.now(), limit=1)
    return {
        "after": after(score=score, viewer=viewer) if score is not None else None,
        "standing": shown,
        "pain": pain,
        "advice": advice(pain.areas) if pain and is_own else (),
        "requests": requests_by(streamed_class=streamed, member=result.member, viewer=viewer),
        "may_ask": is_own and streamed.state == State.CLOSED,
    }


@require_safe
@members_only
def opened(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The same breakdown, to open inside the board."""
    found = breakdown_for(result=_found(viewer, pk), viewer=viewer)
    return HttpResponse(opened_part(found) if found else "")


@require_POST
@limited("submit")
@members_only
def withdraw(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """Take one's own result off the board; its facts stay."""
    result = _found(viewer, pk)
    try:
        fact = withdraw_result(
            result=result,
            by=viewer,
            reason=request.POST.get("reason", ""),
            now=timezone.now(),
        )
    except Refused as refusal:
        for item in refusal.items:
            messages.error(request, f"{item.problem} {item.suggestion}".strip())
    else:
        if viewer.pk != result.member_id:
            enqueue.result_corrected(fact_id=fact.pk)
        messages.success(request, "It is off the board. You can log again while the class is open.")
    return redirect("result", pk=pk)
