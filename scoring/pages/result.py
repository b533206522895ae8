"""A result opened up to the last rep."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from members.models import Membership
from scoring.mapping import core_result, course_of
from scoring.models import Result, State
from scoring.problems import Refused
from scoring.selectors.results import breakdown_for, result_for
from scoring.services.correcting import withdraw_result

from .strip import strip
from .viewer import members_only


def _result_or_404(viewer: Membership, pk: int) -> Result:
    found = result_for(viewer=viewer, pk=pk)
    if found is None:
        raise Http404
    return found


def _context(viewer: Membership, pk: int) -> dict[str, object]:
    result = _result_or_404(viewer, pk)
    streamed = result.streamed_class
    opened = breakdown_for(result=result, viewer=viewer)
    course = course_of(streamed)
    mark = core_result(course, result.current).mark if result.current else None
    return {
        "opened": opened,
        "streamed": streamed,
        "strip": strip(course, mark),
        "may_withdraw": result.member_id == viewer.pk and streamed.state == State.OPEN,
    }


@require_safe
@members_only
def result_page(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The result's own page."""
    return render(request, "scoring/result.html", _context(viewer, pk))


@require_safe
@members_only
def opened(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The breakdown alone, to open a row of the board in place."""
    return render(request, "scoring/_breakdown.html", _context(viewer, pk))


@require_POST
@members_only
def withdraw(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """Take one's own result off the board while the class is open."""
    result = _result_or_404(viewer, pk)
    try:
        withdraw_result(result=result, by=viewer, reason="", now=timezone.now())
        messages.success(request, "Your result is off the board. The record of it stays.")
    except Refused as refused:
        messages.warning(request, str(refused))
    return redirect("class", pk=result.streamed_class_id)
