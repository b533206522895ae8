"""One result in a coach's hands, field by field: logging it for somebody, correcting it."""

from __future__ import annotations

import uuid

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from members.models import Membership
from members.selectors import members_of
from scoring import access
from scoring.core.marks import examples
from scoring.mapping import course_of, rules_of
from scoring.models import Result, State, StreamedClass
from scoring.problems import Item
from scoring.selectors.briefing import offered
from scoring.selectors.results import result_for

from .viewer import class_to_manage, coaches_only

FIELDS = ("mark", "options", "splits", "reason")


@require_safe
@coaches_only
def log_for(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The form with a field for each thing; the one line on the class's page is quicker."""
    return log_form(request, class_to_manage(viewer, pk))


def log_form(
    request: HttpRequest, streamed: StreamedClass, items: list[Item] | None = None
) -> HttpResponse:
    """The same with what was typed, and what is wrong with it."""
    given = {name: request.POST.get(name, "") for name in FIELDS}
    course = course_of(streamed)
    context = {
        "streamed": streamed,
        "given": given,
        "fault": _faults(items),
        "faults": items or [],
        "members": members_of(streamed.gym),
        "chosen": request.POST.get("member", "") or request.GET.get("for", ""),
        "examples": examples(course) if course.blocks else "",
        "offered": offered(course, rules_of(streamed)),
        "is_closed": streamed.state == State.CLOSED,
        "key": request.POST.get("key") or uuid.uuid4().hex,
    }
    return render(request, "scoring/coach/log_for.html", context, status=422 if items else 200)


@require_safe
@coaches_only
def correct(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """A result's fields as they stand, to be corrected or taken off the board."""
    result = result_for(viewer=viewer, pk=pk)
    if result is None or not access.may_manage(viewer, result.streamed_class):
        raise Http404
    return correct_form(request, result)


def correct_form(
    request: HttpRequest, result: Result, items: list[Item] | None = None
) -> HttpResponse:
    """The same with what was typed, and what is wrong with it."""
    current = result.current
    given = {name: getattr(current, name) for name in FIELDS} | {"reason": ""}
    if items:
        given = {name: request.POST.get(name, "") for name in FIELDS}
    course = course_of(result.streamed_class)
    context = {
        "streamed": result.streamed_class,
        "result": result,
        "current": current,
        "given": given,
        "fault": _faults(items),
        "faults": items or [],
        "examples": examples(course) if course.blocks else "",
    }
    return render(request, "scoring/coach/correct.html", context, status=422 if items else 200)


def _faults(items: list[Item] | None) -> dict[str, str]:
    told = dict.fromkeys((*FIELDS, "member"), "")
    return told | {item.column: f"{item.problem} {item.suggestion}".strip() for item in items or []}
