"""A member's own history, repeats side by side."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from members.models import Membership
from scoring.selectors.results import history, repeats

from .viewer import members_only


@require_safe
@members_only
def history_page(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Every result, the newest first."""
    rows = history(member=viewer, viewer=viewer)
    groups = repeats(member=viewer, viewer=viewer)
    return render(request, "scoring/history.html", {"rows": rows, "groups": groups})
