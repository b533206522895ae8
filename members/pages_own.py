"""Pages: what an owner sets for the gym, and what a member tells of their body."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth import logout
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from members.bodies import body_of, save_body
from members.gyms import change_gym
from members.models import Membership, ShownAs, User
from members.pages import STATUS
from members.problems import Refused
from members.sessions import sign_out_everywhere
from members.viewer import members_only, signed_in


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@members_only
def gym_settings(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """How new members are shown on boards, for owners to choose."""
    if not viewer.is_owner:
        raise PermissionDenied("Only owners of the gym have this page.")
    context: dict[str, Any] = {
        "choices": [(value, OFFERED[value]) for value in ShownAs.values],
        "shown_as_default": viewer.gym.shown_as_default,
    }
    if request.method != "POST":
        return render(request, "members/gym_settings.html", context)
    try:
        change_gym(by=viewer, shown_as_default=request.POST.get("shown_as_default", ""))
    except Refused as refused:
        context["faults"] = refused.items
        return render(request, "members/gym_settings.html", context, status=STATUS[refused.kind])
    messages.success(request, "Saved. It is so for everybody who joins from now on.")
    return redirect("gym-settings")


OFFERED = {"name": "their name", "initials": "their initials", "unnamed": "no name"}


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@members_only
def my_body(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Year of birth and body weight: why they are asked, and that nobody else sees them."""
    if request.method != "POST":
        told = body_of(member=viewer, viewer=viewer)
        context: dict[str, Any] = {"year": told.year_of_birth or "", "weight": told.weight or ""}
        return render(request, "members/body.html", context)
    year, weight = request.POST.get("year_of_birth", ""), request.POST.get("weight", "")
    this_year = timezone.localdate().year
    try:
        save_body(membership=viewer, year_of_birth=year, weight=weight, this_year=this_year)
    except Refused as refused:
        context = {"faults": refused.items, "year": year, "weight": weight}
        return render(request, "members/body.html", context, status=STATUS[refused.kind])
    messages.success(request, "Saved, for your eyes only.")
    return redirect("body")


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@signed_in
def signed_out_everywhere(request: HttpRequest, user: User) -> HttpResponse:
    """What a lost phone needs: every device signs in anew; also for who has left every gym."""
    if request.method != "POST":
        return render(request, "members/sign_out_everywhere.html")
    sign_out_everywhere(user=user)
    logout(request)
    messages.success(request, "You are signed out on every device, and no token works any more.")
    answer = redirect("account_login")
    answer["Clear-Site-Data"] = '"cache", "storage"'
    return answer
