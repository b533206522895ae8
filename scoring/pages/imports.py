"""Bring a class's chat or a file of results in, look its lines through, take it back."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from members.limits import limited
from members.models import Membership
from scoring import enqueue
from scoring.core.marks import examples
from scoring.mapping import course_of
from scoring.models import ImportRun, State
from scoring.problems import Refused, refuse
from scoring.selectors.imports import import_for, imports_of, line_for
from scoring.services.import_mending import accept_all
from scoring.services.importing import (
    MAX_BYTES,
    confirm_import,
    drop_import,
    start_import,
    undo_import,
)

from .import_lines import change_line, shown
from .viewer import class_to_manage, coaches_only


@require_http_methods(["GET", "HEAD", "POST"])
@limited("submit")
@coaches_only
def class_import(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """Paste a chat or choose a file; and what was brought in before."""
    streamed = class_to_manage(viewer, pk)
    context: dict[str, Any] = {"fault": {"text": "", "file": ""}, "faults": []}
    if request.method == "POST":
        try:
            run = _begin(request, viewer, pk)
        except Refused as refused:
            for item in refused.items:
                if item.column in context["fault"]:
                    context["fault"][item.column] = f"{item.problem} {item.suggestion}".strip()
            context["faults"] = refused.items
        else:
            enqueue.work_on_import(pk=run.pk, state=run.state)
            return redirect("import-page", pk=run.pk)
    course = course_of(streamed)
    context |= {
        "streamed": streamed,
        "is_draft": streamed.state == State.DRAFT,
        "text": request.POST.get("text", ""),
        "runs": imports_of(streamed_class=streamed, viewer=viewer)[:50],
        "examples": examples(course) if course.blocks else "",
    }
    status = 422 if context["faults"] else 200
    return render(request, "scoring/coach/import.html", context, status=status)


def _begin(request: HttpRequest, viewer: Membership, pk: int) -> ImportRun:
    file = request.FILES.get("file")
    if file is not None:
        # One byte more than may be tells that there is more, without reading it all.
        kind, data = ImportRun.Kind.SHEET, file.read(MAX_BYTES + 1)
    else:
        text = request.POST.get("text", "")
        kind, data = ImportRun.Kind.CHAT, text.encode("utf-8", "replace")
    return start_import(
        streamed_class=class_to_manage(viewer, pk), by=viewer, kind=kind, data=data,
        now=timezone.now(),
    )  # fmt: skip


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@limited("submit")
@coaches_only
def import_page(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """An import's lines as they are understood, what can be done about them, how far it is."""
    run = import_for(viewer=viewer, pk=pk)
    if run is None:
        raise Http404
    context: dict[str, Any] = {}
    if request.method == "POST":
        try:
            where = _act(request, viewer, run)
        except Refused as refused:
            context = {"faults": refused.items, "typed": request.POST}
            run.refresh_from_db()
        else:
            return redirect(where)
    context |= shown(request, viewer, run)
    status = 422 if context.get("faults") else 200
    return render(request, "scoring/coach/import_run.html", context, status=status)


def _act(request: HttpRequest, viewer: Membership, run: ImportRun) -> str:
    """Do what a button asks for; answers where to go then."""
    post, now = request.POST, timezone.now()
    act, reason = post.get("act", ""), post.get("reason", "")
    page = reverse("import-page", args=[run.pk])
    if act == "confirm":
        run = confirm_import(run=run, by=viewer, reason=reason, now=now)
    elif act == "undo":
        run = undo_import(run=run, by=viewer, reason=reason, now=now)
    elif act == "drop":
        drop_import(run=run, by=viewer)
        messages.success(request, "Thrown away. Nothing of it was brought in.")
        return reverse("class-import", args=[run.streamed_class_id])
    elif act == "accept-all":
        count = accept_all(run=run, by=viewer)
        messages.success(request, f"{count} more ready to come in.")
    elif "line" in post:
        number = post["line"]
        is_number = number.isascii() and number.isdigit() and len(number) < 8
        line = line_for(run=run, viewer=viewer, number=int(number)) if is_number else None
        if line is None:
            raise refuse("line", "That line is not there.", "Reload the page.")
        change_line(request, viewer, line)
        run.refresh_from_db()
        page += "?" + urlencode({k: post[k] for k in ("show", "page") if post.get(k)})
        page += f"#line-{number}" if post.get("show") == "all" else "#lines"
    elif act != "go-on":
        raise refuse("act", "That button is not known.", "Reload the page.")
    enqueue.work_on_import(pk=run.pk, state=run.state)
    return page
