"""My messages: what I want to be told by e-mail, when not, and stopping one for good."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from members.models import Membership
from scoring.messages.links import read_token
from scoring.models import MessageKind
from scoring.problems import Refused
from scoring.selectors.messages import has_proven_address, message_settings_for
from scoring.services.messages import save_message_settings, switch_off

from .viewer import members_only


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@members_only
def my_messages(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Tick what to be told, and say when not."""
    if request.method == "POST":
        post = request.POST
        given: dict[str, Any] = {
            "kinds": post.getlist("kind") + _not_asked(viewer),
            "quiet_from": post.get("quiet_from", ""),
            "quiet_until": post.get("quiet_until", ""),
        }
        try:
            save_message_settings(member=viewer, **given)
        except Refused as refused:
            context = _context(viewer, given) | {"faults": refused.items}
            return render(request, "scoring/messages.html", context, status=422)
        messages.success(request, "Saved.")
        return redirect("my-messages")
    row = message_settings_for(member=viewer, viewer=viewer)
    assert row is not None  # one's own
    given = {
        "kinds": [kind.value for kind in MessageKind if row.wants(kind)],
        "quiet_from": f"{row.quiet_from:%H:%M}",
        "quiet_until": f"{row.quiet_until:%H:%M}",
    }
    return render(request, "scoring/messages.html", _context(viewer, given))


def _not_asked(viewer: Membership) -> list[str]:
    """What is only for coaches is not asked of others, and stays as it is."""
    row = message_settings_for(member=viewer, viewer=viewer)
    if viewer.is_coach or row is None:
        return []
    return [kind.value for kind in MessageKind if kind.is_for_coaches and row.wants(kind)]


def _context(viewer: Membership, given: dict[str, Any]) -> dict[str, Any]:
    return {
        **given,
        "choices": [
            {"value": kind.value, "label": kind.label, "is_on": kind.value in given["kinds"]}
            for kind in MessageKind
            if viewer.is_coach or not kind.is_for_coaches
        ],
        "has_address": has_proven_address(member=viewer),
    }


# Who posts is a mail program, for a member who is not signed in (RFC 8058, section 3.2);
# the signed address is the proof, and all it can do is switch one message off.
@never_cache
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def unsubscribe(request: HttpRequest, token: str) -> HttpResponse:
    """Stop one kind of message. Opening the page alone changes nothing: mail programs
    and their scanners open links unasked."""
    found = read_token(token)
    if found is None:
        return render(request, "scoring/unsubscribe.html", {"is_lost": True}, status=404)
    member, kind = found
    if request.method == "POST":
        switch_off(member=member, kind=kind)
    context = {"gym": member.gym, "kind": kind, "is_done": request.method == "POST"}
    return render(request, "scoring/unsubscribe.html", context)
