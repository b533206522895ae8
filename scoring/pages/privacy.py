"""What is kept of me: who sees it, a copy of it, leaving, and being erased."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from members.leaving import gyms_without_another_owner, leave_gym
from members.models import Membership, User
from members.problems import Refused as MembersRefused
from members.selectors import current_membership
from members.viewer import signed_in
from scoring import enqueue
from scoring.problems import Item, Refused
from scoring.selectors.privacy import who_sees
from scoring.services.erasures import (
    GRACE_DAYS,
    ask_erasure,
    erasure_of,
    hindered_by,
    take_back,
)
from scoring.services.exporting import KEPT_DAYS, archive_for, ask_export, latest_export

from .viewer import members_only


@never_cache
@require_safe
@signed_in
def privacy(request: HttpRequest, user: User) -> HttpResponse:
    """Who can see what of me in this gym; also for who belongs to none any more."""
    viewer = current_membership(request)
    context = {"lines": who_sees(viewer) if viewer else [], "erasure": erasure_of(user)}
    return render(request, "scoring/privacy.html", context)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@signed_in
def export(request: HttpRequest, user: User) -> HttpResponse:
    """Ask for a copy of all that is kept of me, and see how far it is."""
    context: dict[str, Any] = {"days": KEPT_DAYS}
    status = 200
    if request.method == "POST":
        try:
            site = request.build_absolute_uri("/")
            row = ask_export(user=user, site=site, now=timezone.now())
        except Refused as refused:
            context["faults"], status = refused.items, 409
        else:
            enqueue.make_export(pk=row.pk)
            return redirect("export")
    context["export"] = latest_export(user=user, now=timezone.now())
    return render(request, "scoring/export.html", context, status=status)


@never_cache
@require_safe
@signed_in
def export_file(request: HttpRequest, user: User, token: str) -> HttpResponse:
    """The archive, by the link in the e-mail and for its own member only."""
    row = archive_for(user=user, token=token, now=timezone.now())
    if row is None:
        raise Http404("This link leads nowhere any more. Ask for a new copy.")
    answer = HttpResponse(bytes(row.archive), content_type="application/zip")
    answer["Content-Disposition"] = f'attachment; filename="my-data-{row.made_at:%Y-%m-%d}.zip"'
    return answer


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@members_only
def leave(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Leave the gym that I look at."""
    context: dict[str, Any] = {"is_last_owner": bool(gyms_without_another_owner([viewer]))}
    if request.method != "POST":
        return render(request, "scoring/leave.html", context)
    try:
        leave_gym(membership=viewer, now=timezone.now())
    except MembersRefused as refused:
        context["faults"] = refused.items
        return render(request, "scoring/leave.html", context, status=409)
    messages.success(request, f"You have left {viewer.gym.name}.")
    return redirect("privacy")


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@signed_in
def erase_me(request: HttpRequest, user: User) -> HttpResponse:
    """Ask to be erased, see when, take it back."""
    faults: list[Item] = []
    status = 200
    if request.method == "POST":
        try:
            said = _act(request, user)
        except Refused as refused:
            faults, status = refused.items, 409 if refused.kind == "conflict" else 422
        else:
            messages.success(request, said)
            return redirect("erase-me")
    context = {
        "erasure": erasure_of(user),
        "hindered_by": hindered_by(user),
        "faults": faults,
        "days": GRACE_DAYS,
        "choice": request.POST.get("results", ""),
    }
    return render(request, "scoring/erase.html", context, status=status)


def _act(request: HttpRequest, user: User) -> str:
    if request.POST.get("act") == "keep":
        take_back(user=user)
        return "Nothing will be erased. You stay."
    row = ask_erasure(user=user, results=request.POST.get("results", ""), now=timezone.now())
    enqueue.tell_erasure_asked(pk=row.pk, site=request.build_absolute_uri("/"))
    return "Noted. An e-mail says the same and where to take it back."
