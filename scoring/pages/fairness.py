"""What options have been worth: the figures drawn, and the changes they speak for."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor
from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from members.keys import is_key
from members.models import Membership
from scoring import enqueue
from scoring.core.estimation.assumptions import LEAST_RESULTS
from scoring.core.estimation.worth import SELECTION, count, two, two_down, two_up
from scoring.models import CreditChange
from scoring.problems import Refused, refuse
from scoring.selectors.fairness import Fairness, Row, fairness
from scoring.services.credit_changes import EntryInput, propose
from scoring.services.credit_entries import MAX_ENTRIES

from .interval_bar import Bar, interval_bar
from .viewer import coaches_only

MOVEMENTS_A_PAGE = 12

Scale = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Shown:
    """A row with its picture and its figures as text. ``number`` names it in the form,
    ``taken`` says whether its change is ticked."""

    row: Row
    bar: Bar
    credit: str
    median: str
    low: str
    high: str
    number: int = 0
    taken: bool = False


def scale_of(found: Fairness) -> Scale:
    """One scale for all pictures, so that they compare: the widest interval or credit, out to
    the next tenth."""
    worths = [row.worth for movement in found.movements for row in movement.rows]
    if not worths:
        return 0.0, 1.0
    low = min(min(worth.low, worth.credit) for worth in worths)
    high = max(max(worth.high, worth.credit, 1.0) for worth in worths)
    return max(0.0, floor(low * 10) / 10), min(3.0, ceil(high * 10) / 10)


def _shown(row: Row, scale: Scale, number: int = 0, *, taken: bool = False) -> Shown:
    worth, ends = row.worth, (f"{scale[0]:.1f}", f"{scale[1]:.1f}")
    bar = interval_bar(
        worth.median, worth.low, worth.high, scale=scale, ends=ends,
        told=row.words, middle=worth.credit,
    )  # fmt: skip
    return Shown(
        row, bar, two(worth.credit), two(worth.median), two_down(worth.low), two_up(worth.high),
        number, taken,
    )  # fmt: skip


def _ticked(request: HttpRequest) -> list[EntryInput]:
    """The suggestions that were ticked, as they stood on the page."""
    post = request.POST
    number = post.get("rows", "0")
    rows = range(min(int(number), MAX_ENTRIES) if is_key(number) else 0)
    entries = [
        EntryInput(
            post.get(f"movement-{n}", ""), post.get(f"option-{n}", ""),
            post.get(f"credit-{n}", ""), "take",
        )
        for n in rows if f"take-{n}" in post
    ]  # fmt: skip
    if not entries:
        raise refuse("take", "No change is ticked.", "Tick the ones you want to look at.")
    return entries


def _propose(request: HttpRequest, viewer: Membership) -> CreditChange:
    change = propose(
        gym=viewer.gym,
        by=viewer,
        entries=_ticked(request),
        reason=request.POST.get("reason", ""),
        scope=request.POST.get("scope", ""),
        now=timezone.now(),
    )
    enqueue.credit_change(pk=change.pk)
    return change


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def fairness_page(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Every option and load with what it has been worth, and suggested changes to look at."""
    items: list[Any] = []
    if request.method == "POST":
        try:
            return redirect("credit-change", pk=_propose(request, viewer).pk)
        except Refused as refused:
            items = refused.items
    query = request.GET.get("q", "")[:80]
    found = fairness(viewer=viewer)
    if found is None:
        raise Http404
    context = _context(request, found, query) | {
        "query": query,
        "faults": items,
        "fault": {i.column: f"{i.problem} {i.suggestion}".strip() for i in items},
    }
    return render(request, "scoring/coach/fairness.html", context, status=422 if items else 200)


def _reason(found: Fairness, asked: tuple[Row, ...]) -> str:
    """Why, unless the coach says it better: from the results of what is suggested alone."""
    until = f" until {found.until.day} {found.until:%b %Y}" if found.until else ""
    counts = sorted(row.worth.results for row in asked)
    if not counts:
        return ""
    if len(counts) == 1:
        return f"What it has been worth in {count(counts[0])}{until}"
    return f"What each has been worth in its own {counts[0]:,} to {count(counts[-1])}{until}"


def _context(request: HttpRequest, found: Fairness, query: str) -> dict[str, Any]:
    post, scale = request.POST, scale_of(found)
    listed = Paginator(found.named(query), MOVEMENTS_A_PAGE)
    page = listed.get_page(request.GET.get("page", "1"))
    asked = found.suggestions[:MAX_ENTRIES]
    return {
        "found": found,
        "page": page,
        "groups": [
            {"name": movement.name, "rows": [_shown(row, scale) for row in movement.rows]}
            for movement in page.object_list
        ],
        "suggested": [
            _shown(row, scale, number, taken=not post or f"take-{number}" in post)
            for number, row in enumerate(asked)
        ],
        "findings": [_shown(row, scale) for row in found.findings],
        "least": LEAST_RESULTS,
        "selection": SELECTION,
        "reason": post.get("reason", _reason(found, asked)),
        "scope": post.get("scope", "all"),
    }
