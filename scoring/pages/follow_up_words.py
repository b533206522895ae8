"""The words that a coach's drafts begin with: one text a reason, the gym's or one's own."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from members.models import Membership
from scoring.core.follow_up_words import FIELDS, fields_of
from scoring.problems import Item, Refused, refuse
from scoring.selectors.follow_up import all_words
from scoring.services.follow_up import read_reason
from scoring.services.follow_up_words import restore_words, save_words

from .viewer import coaches_only


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def words(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """All texts, each with the fields it may have."""
    faults: list[Item] = []
    post = request.POST
    if request.method == "POST":
        try:
            messages.success(request, _act(request, viewer))
            return redirect("follow-up-words")
        except Refused as refused:
            faults = refused.items
    wrong = post.get("reason", "") if faults else ""
    texts = [
        {
            "words": each,
            "text": post.get("text", "") if each.reason == wrong else each.in_use,
            "fault": " ".join(f"{i.problem} {i.suggestion}" for i in faults)
            if each.reason == wrong
            else "",
            "fields": [(f"{{{name}}}", FIELDS[name]) for name in fields_of(each.reason)],
            "is_wrong": each.reason == wrong,
        }
        for each in all_words(viewer=viewer)
    ]
    context = {"texts": texts, "faults": faults, "whose": post.get("whose", "own")}
    return render(
        request, "scoring/coach/follow_up_words.html", context, status=422 if faults else 200
    )


def _act(request: HttpRequest, viewer: Membership) -> str:
    post, now = request.POST, timezone.now()
    reason = read_reason(post.get("reason", ""))
    act = post.get("act", "")
    if act == "save":
        for_gym = post.get("whose") == "gym"
        save_words(by=viewer, reason=reason, text=post.get("text", ""), for_gym=for_gym, now=now)
        return f"Saved for {'the whole gym' if for_gym else 'you'}: {reason.label}."
    if act in ("restore-own", "restore-gym"):
        restore_words(by=viewer, reason=reason, for_gym=act == "restore-gym", now=now)
        return f"Restored: {reason.label}."
    raise refuse("act", "That button is not known.", "Reload the page.")
