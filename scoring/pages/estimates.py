"""What results have taught: a coach's page of costs and classes, and making it anew."""

from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from members.models import Membership
from scoring import enqueue
from scoring.core.estimation.assumptions import LEAST_RESULTS
from scoring.selectors.estimates import held as held_of
from scoring.selectors.taught import (
    Taught,
    effects,
    in_words,
    last_classes,
    last_run,
    movements,
)
from scoring.services.estimate_runs import ask

from .viewer import coaches_only

MOVEMENTS_A_PAGE = 12
CLASSES = 12
"""So many of the newest classes are shown."""


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def estimates_page(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """The page; its button asks for figures of all that is known now."""
    if request.method == "POST":
        ask(gym=viewer.gym, by=viewer, now=timezone.now())
        enqueue.estimate(gym_id=viewer.gym_id)
        messages.success(request, "Asked for. The figures here stay until the new ones are there.")
        return redirect("estimates")
    held = held_of(gym_id=viewer.gym_id)
    query = request.GET.get("q", "")[:80].strip()
    found = [each for each in movements(held, gym_id=viewer.gym_id) if _has(each, query)]
    run = last_run(gym_id=viewer.gym_id)
    context = {
        "held": held,
        "query": query,
        "page": Paginator(found, MOVEMENTS_A_PAGE).get_page(request.GET.get("page", "1")),
        "effects": list(effects(held, last_classes(held, CLASSES))),
        "run": None if run is None else in_words(run),
        "least": LEAST_RESULTS,
    }
    return render(request, "scoring/coach/estimates.html", context)


def _has(taught: Taught, query: str) -> bool:
    wanted = query.casefold()
    names = [taught.movement, *(cost.way.option for cost in taught.costs)]
    return any(wanted in name.casefold() for name in names)
