"""The start: what is on now."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from members.models import Membership
from members.selectors import current_membership
from scoring.models import State
from scoring.selectors.classes import classes_for, next_classes, open_to_log
from scoring.selectors.desk import desk
from scoring.selectors.requests import waiting_requests
from scoring.selectors.results import newest_result
from scoring.selectors.setups import setup_for

from .viewer import members_only

CLASSES_A_PAGE = 30


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """What a member needs now; for a stranger, what this is and how to get in."""
    viewer = current_membership(request)
    if viewer is None:
        return render(request, "scoring/welcome.html")
    now = timezone.now()
    to_log = list(open_to_log(viewer=viewer, now=now))
    own = classes_for(viewer=viewer, state=State.OPEN).filter(scores__result__member=viewer)
    logged = list(classes_for(viewer=viewer, state=State.OPEN).filter(pk__in=own.values("pk")))
    setup = setup_for(member=viewer, viewer=viewer)
    return render(
        request,
        "scoring/home.html",
        {
            "to_log": to_log,
            "open_logged": logged,
            "coming": next_classes(viewer=viewer, now=now)[:3],
            "last": newest_result(member=viewer, viewer=viewer),
            "gear_unknown": setup is None or not setup.has_told_gear,
            "desk": desk(viewer=viewer, now=now),
            "asked": waiting_requests(viewer=viewer),
        },
    )


@require_safe
@members_only
def class_list(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Every class of the gym, the newest first."""
    pages = Paginator(classes_for(viewer=viewer), CLASSES_A_PAGE)
    return render(
        request,
        "scoring/class_list.html",
        {"page": pages.get_page(request.GET.get("page"))},
    )


@require_safe
def cautions(request: HttpRequest) -> HttpResponse:
    """The usual cautions, for everybody."""
    return render(request, "cautions.html")
