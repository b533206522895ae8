"""My gear: what I have, the weights, and the options I usually take."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from members.models import Membership
from scoring.core import catalogue
from scoring.core.gear import HOUSEHOLD, LOADED, PIECES
from scoring.problems import Refused
from scoring.selectors.setups import habits_seen, setup_for
from scoring.services.setups import save_setup

from .viewer import members_only


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@members_only
def my_gear(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Tick what is there, write the weights, say what is usual."""
    if request.method == "POST":
        post = request.POST
        given: dict[str, Any] = {
            "pieces": post.getlist("piece"),
            "loads": {piece: post.get(f"loads-{piece}", "") for piece in LOADED},
            "usual": _sent_habits(post),
            "unit": post.get("unit", "kg"),
        }
        try:
            save_setup(member=viewer, **given)
        except Refused as refused:
            context = _context(viewer, given) | {"faults": refused.items}
            return render(request, "scoring/setup.html", context, status=422)
        messages.success(request, "Saved. Class pages show your version now.")
        return redirect("setup")
    return render(request, "scoring/setup.html", _context(viewer, _kept(viewer)))


def _sent_habits(post: Any) -> dict[str, str]:
    """The rows of the form: ``movement-0`` with ``usual-0`` and so on."""
    return {
        post.get(f"movement-{n}", ""): post.get(f"usual-{n}", "")
        for n in range(100)
        if post.get(f"movement-{n}", "").strip()
    }


def _kept(viewer: Membership) -> dict[str, Any]:
    row = setup_for(member=viewer, viewer=viewer)
    if row is None or not row.has_told_gear:
        return {
            "pieces": sorted(HOUSEHOLD),
            "loads": {},
            "usual": dict(row.usual) if row else habits_seen(member=viewer, viewer=viewer),
            "unit": row.unit if row else "kg",
        }
    return {
        "pieces": row.pieces,
        "loads": {
            # The unit beside the field goes without saying.
            piece: ", ".join(w.removesuffix(f" {row.unit}") for w in weights)
            for piece, weights in row.loads.items()
        },
        "usual": dict(row.usual),
        "unit": row.unit,
    }


def _context(viewer: Membership, given: dict[str, Any]) -> dict[str, Any]:
    habits = [*given["usual"].items(), ("", "")]
    return {
        "groups": [
            {
                "title": group.value,
                "pieces": [{"name": name, "has": name in given["pieces"]} for name, _ in listed],
            }
            for group, listed in groupby(PIECES.items(), key=lambda pair: pair[1])
        ],
        "weights": [{"piece": piece, "written": given["loads"].get(piece, "")} for piece in LOADED],
        "habits": [
            {"number": n, "movement": movement, "option": option}
            for n, (movement, option) in enumerate(habits)
        ],
        "movements": [movement.name for movement in catalogue.all_movements()],
        "unit": given["unit"],
    }
