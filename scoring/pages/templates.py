"""Templates: frames for classes that the gym's coaches keep."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from members.keys import is_key
from members.models import Membership
from scoring.models import ClassTemplate
from scoring.problems import Refused
from scoring.selectors.templates import template_for, templates_for
from scoring.selectors.workouts import workout_for
from scoring.services.templates import MAX_NAME, MAX_NOTE, MAX_TEXT, remove_template, save_template

from .viewer import coaches_only

FIELDS = ("name", "text", "note")
EXAMPLE = """Tuesday strength and sprint
cap ___

3 rounds, not scored
10 (something easy for the hips)

max load, 3 reps
(this month's lift)

rest 3:00

amrap 8:00
__ (a push)
__ (a jump, kind to knees)
"""


@require_safe
@coaches_only
def template_list(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Every template of the gym."""
    rows = list(templates_for(viewer=viewer))
    return render(request, "scoring/coach/templates.html", {"rows": rows})


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def template_new(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Write a template, empty or from a workout that is kept."""
    named = request.GET.get("from", "")
    workout = workout_for(viewer=viewer, pk=int(named)) if is_key(named) else None
    begun = {"name": workout.title, "text": workout.text, "note": ""} if workout else {}
    return _form(request, viewer, None, dict.fromkeys(FIELDS, "") | begun)


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def template_edit(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """Change a template."""
    row = _template_or_404(viewer, pk)
    return _form(request, viewer, row, {name: getattr(row, name) for name in FIELDS})


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def template_remove(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """Ask, then remove a template."""
    row = _template_or_404(viewer, pk)
    if request.method == "POST":
        try:
            remove_template(template=row, by=viewer, now=timezone.now())
            messages.success(request, f"The template {row.name} is removed.")
        except Refused as refused:
            messages.error(request, str(refused))
        return redirect("class-templates")
    return render(request, "scoring/coach/template_remove.html", {"row": row})


def _template_or_404(viewer: Membership, pk: int) -> ClassTemplate:
    row = template_for(viewer=viewer, pk=pk)
    if row is None:
        raise Http404
    return row


def _form(
    request: HttpRequest, viewer: Membership, row: ClassTemplate | None, given: dict[str, str]
) -> HttpResponse:
    fault = dict.fromkeys((*FIELDS, ""), "")
    if request.method == "POST":
        given = {name: request.POST.get(name, "") for name in FIELDS}
        try:
            saved = save_template(by=viewer, template=row, now=timezone.now(), **given)
        except Refused as refused:
            fault |= {i.column: f"{i.problem} {i.suggestion}".strip() for i in refused.items}
        else:
            messages.success(request, f"The template {saved.name} is kept.")
            return redirect("class-templates")
    context: dict[str, Any] = {
        "row": row,
        "given": given,
        "fault": fault,
        "said": fault[""],
        "example": EXAMPLE,
        "is_blank": "" if given["text"].strip() else "yes",
        "most": {"name": MAX_NAME, "text": MAX_TEXT, "note": MAX_NOTE},
    }
    status = 422 if any(fault.values()) else 200
    return render(request, "scoring/coach/template_write.html", context, status=status)
