"""The gym's credits: what counts what, changing it, and what that did."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe
from django_htmx.http import HttpResponseClientRefresh

from members.keys import is_key
from members.models import Membership
from scoring import access, enqueue
from scoring.models import CreditChange
from scoring.problems import Refused, refuse
from scoring.selectors import credit_changes as told
from scoring.selectors.credits import board_beats, sheet, versions
from scoring.services.credit_changes import (
    EntryInput,
    accept,
    look_anew,
    propose,
    propose_undo,
    seen_of,
)
from scoring.services.credit_classes import table_of
from scoring.services.credit_moves import class_moves

from .viewer import coaches_only

MOVEMENTS_A_PAGE = 12
CLASSES_A_PAGE = 20
MOVES_A_PAGE = 50
VERSIONS_A_PAGE = 20
MAX_ROWS = 400


def _page(request: HttpRequest, rows: Any, size: int) -> Any:
    return Paginator(rows, size).get_page(request.GET.get("page", "1"))


def _given(request: HttpRequest) -> tuple[list[EntryInput], dict[tuple[str, str], str], set[Any]]:
    """Entries of the form, what was typed by option, and which are to be taken out."""
    post = request.POST
    entries: list[EntryInput] = []
    typed: dict[tuple[str, str], str] = {}
    out: set[tuple[str, str]] = set()
    count = post.get("rows", "0")
    for number in range(min(int(count), MAX_ROWS) if is_key(count) else 0):
        column = f"credit-{number}"
        key = post.get(f"movement-{number}", ""), post.get(f"option-{number}", "")
        text = post.get(column, "").strip()
        typed[key] = text
        if f"out-{number}" in post:
            out.add(key)
            entries.append(EntryInput(*key, None, column))
        elif text:
            entries.append(EntryInput(*key, text, column))
    if any(post.get(name, "").strip() for name in ("movement-new", "option-new", "credit-new")):
        movement, option, credit = (
            post.get(f"{name}-new", "").strip() for name in ("movement", "option", "credit")
        )
        if not (movement and option and credit):
            raise refuse("credit-new", "Name the movement, the option and its credit.",
                         "Or leave all three empty.")  # fmt: skip
        entries.append(EntryInput(movement, option, credit, "credit-new"))
    return entries, typed, out


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def credits_page(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Every option with its credit, and a form to change some of them."""
    query = request.GET.get("q", "")[:80]
    faults: dict[str, str] = {}
    items: list[Any] = []
    typed: dict[tuple[str, str], str] = {}
    out: set[Any] = set()
    if request.method == "POST":
        try:
            change = _propose(request, viewer)
            return redirect("credit-change", pk=change.pk)
        except Refused as refused:
            items = refused.items
            faults = {i.column: f"{i.problem} {i.suggestion}".strip() for i in items}
            _, typed, out = _typed(request)
    shown = sheet(viewer=viewer, query=query)
    if shown is None:
        raise Http404
    page = _page(request, shown.movements, MOVEMENTS_A_PAGE)
    number = 0
    groups = []
    for movement in page.object_list:
        rows = []
        for row in movement.options:
            key = (row.movement, row.option)
            column = f"credit-{number}"
            rows.append(
                {
                    "row": row,
                    "number": number,
                    "typed": typed.get(key, ""),
                    "out": key in out,
                    "fault": faults.get(column, ""),
                }
            )
            number += 1
        groups.append({"name": movement.name, "rows": rows})
    figures = [
        {
            "number": number + place,
            "name": name,
            "value": value,
            "words": words,
            "typed": typed.get(("", name), ""),
            "fault": faults.get(f"credit-{number + place}", ""),
        }
        for place, (name, value, words) in enumerate(shown.figures)
    ]
    post = request.POST
    context = {
        "sheet": shown,
        "page": page,
        "groups": groups,
        "figures": figures,
        "rows": number + len(figures),
        "query": query,
        "faults": items,
        "fault": {name: faults.get(name, "") for name in ("reason", "scope")}
        | {"new": faults.get("credit-new", "")},
        "given": {name: post.get(f"{name}-new", "") for name in ("movement", "option", "credit")},
        "reason": post.get("reason", ""),
        "scope": post.get("scope", "all"),
        "figures_open": "yes" if any(f["typed"] for f in figures) else "",
        "new_open": "yes" if post.get("movement-new") or faults.get("credit-new") else "",
        "recent": told.changes_for(viewer=viewer).exclude(state="done")[:5],
    }
    return render(request, "scoring/coach/credits.html", context, status=422 if items else 200)


def _typed(request: HttpRequest) -> tuple[list[EntryInput], dict[tuple[str, str], str], set[Any]]:
    try:
        return _given(request)
    except Refused:  # the rest of what was typed stands again all the same
        without = request.POST.copy()
        for name in ("movement", "option", "credit"):
            without.pop(f"{name}-new", None)
        copied = HttpRequest()
        copied.POST = without  # type: ignore[assignment]
        return _given(copied)


def _propose(request: HttpRequest, viewer: Membership) -> CreditChange:
    entries, _, _ = _given(request)
    change = propose(
        gym=viewer.gym,
        by=viewer,
        entries=entries,
        reason=request.POST.get("reason", ""),
        scope=request.POST.get("scope", ""),
        now=timezone.now(),
    )
    enqueue.credit_change(pk=change.pk)
    return change


@require_safe
@coaches_only
def credits_history(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Every version of the table: who, when, why, from what to what."""
    page = _page(request, versions(viewer=viewer), VERSIONS_A_PAGE)
    return render(request, "scoring/coach/credits_history.html", {"page": page})


def _change(viewer: Membership, pk: int) -> CreditChange:
    found = told.change_for(viewer=viewer, pk=pk)
    if found is None:
        raise Http404
    return found


def _context(change: CreditChange) -> dict[str, Any]:
    state = CreditChange.State
    return {
        "change": change,
        "progress": told.progress_of(change),
        "is_looking": change.state == state.LOOKING,
        "is_shown": change.state == state.SHOWN,
        "is_working": change.state == state.WORKING,
        "is_done": change.state == state.DONE,
        "goes_on": change.state in (state.LOOKING, state.WORKING),
        "is_for_all": change.scope == CreditChange.Scope.ALL,
        # Without a worker of its own the service goes on when the page asks it to.
        "has_worker": not settings.CELERY_TASK_ALWAYS_EAGER,
    }


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def credit_change(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """One change: who would move, how far it is, what it did; accepting and undoing it."""
    change = _change(viewer, pk)
    items: list[Any] = []
    if request.method == "POST":
        try:
            answer = _act(request, viewer, change)
        except Refused as refused:
            items = refused.items
            enqueue.credit_change(pk=pk)  # a preview that became untrue is worked out anew
            change = _change(viewer, pk)
        else:
            return answer
    page = _page(request, told.classes_of(change), CLASSES_A_PAGE)
    steps = told.steps_of(change)
    keys = [(step.movement, step.option) for step in steps if step.movement]
    context = _context(change) | {
        "faults": items,
        "steps": steps,
        "conflicts": told.conflicts_of(change),
        "page": page,
        "beaten": board_beats(viewer=viewer, keys=keys) if keys else [],
        "seen": seen_of(change) if change.state == CreditChange.State.SHOWN else "",
        "is_stale": told.is_stale(change),
        "undone": told.undone_by(change),
        "may_change": access.may_change_credits(viewer),
        "reason": request.POST.get("reason", ""),
    }
    return render(
        request, "scoring/coach/credit_change.html", context, status=422 if items else 200
    )


def _act(request: HttpRequest, viewer: Membership, change: CreditChange) -> HttpResponse:
    act, now = request.POST.get("act", ""), timezone.now()
    if act == "go-on":
        enqueue.credit_change(pk=change.pk)
        if request.htmx:  # type: ignore[attr-defined]
            return _progress(request, _change(viewer, change.pk))
    elif act == "accept":
        accept(change=change, by=viewer, seen=request.POST.get("seen", ""), now=now)
        enqueue.credit_change(pk=change.pk)
        messages.success(request, "Accepted. New classes count by it; boards follow one by one.")
    elif act == "anew":
        look_anew(change=change, by=viewer, now=now)
        enqueue.credit_change(pk=change.pk)
    elif act == "undo":
        reason = request.POST.get("reason", "")
        undo = propose_undo(change=change, by=viewer, reason=reason, now=now)
        enqueue.credit_change(pk=undo.pk)
        return redirect("credit-change", pk=undo.pk)
    else:
        raise refuse("act", "That button is not known.", "Reload the page.")
    return redirect("credit-change", pk=change.pk)


def _progress(request: HttpRequest, change: CreditChange) -> HttpResponse:
    context = _context(change)
    if not context["goes_on"]:
        return HttpResponseClientRefresh()
    return render(request, "scoring/coach/_credit_progress.html", context)


@require_safe
@coaches_only
def credit_change_progress(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """How far a change is, alone; tells the page to load again once it is through."""
    return _progress(request, _change(viewer, pk))


@require_safe
@coaches_only
def credit_change_class(
    request: HttpRequest, viewer: Membership, pk: int, class_pk: int
) -> HttpResponse:
    """Who moves on one board by a change, or moved."""
    change = _change(viewer, pk)
    row = told.classes_of(change).filter(streamed_class=class_pk).first()
    if row is None:
        raise Http404
    new = table_of(row.to_table) if row.to_table else told.tables_of(change)[1]
    found = class_moves(
        streamed_class=row.streamed_class,
        old=table_of(row.from_table),
        new=new,
        is_done=row.done_at is not None,
    )
    page = _page(request, found.moved, MOVES_A_PAGE)
    names = told.names_of(viewer=viewer, result_ids=[move.result_id for move in page])
    context = {
        "change": change,
        "row": row,
        "streamed": row.streamed_class,
        "found": found,
        "page": page,
        "moves": [{"move": move, "name": names.get(move.result_id, "")} for move in page],
    }
    return render(request, "scoring/coach/credit_change_class.html", context)
