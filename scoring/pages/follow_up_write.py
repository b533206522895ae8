"""A word to one member: drafted, changed, then sent by e-mail or copied. Nothing is sent by
itself."""

from __future__ import annotations

import uuid
from dataclasses import dataclass

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from members.limits import limited
from members.models import Membership
from scoring import enqueue
from scoring.core.follow_up import Reason
from scoring.problems import Item, Refused, refuse
from scoring.selectors.follow_up import (
    Person,
    draft,
    letters_to,
    member_for,
    person_of,
    unreachable,
    was_written,
)
from scoring.selectors.follow_up_reasons import Found
from scoring.services.follow_up import mark_done, read_reason, tidy_words, write_letter

from .follow_up import back_to, class_asked
from .viewer import coaches_only


@dataclass(frozen=True, slots=True)
class Asked:
    """Whom a page is about, and which of their open reasons."""

    member: Membership
    person: Person | None
    found: Found | None


def _asked(request: HttpRequest, viewer: Membership, pk: int) -> Asked:
    member = member_for(viewer=viewer, pk=pk)
    if member is None or member.pk == viewer.pk:
        raise Http404
    streamed = class_asked(viewer, request.GET.get("class", ""))
    person = person_of(viewer=viewer, member=member, now=timezone.now(), streamed_class=streamed)
    reason = request.GET.get("reason", "")
    if person is None:
        return Asked(member, None, None)
    if not reason:
        return Asked(member, person, person.reasons[0])
    return Asked(member, person, person.reason(reason, request.GET.get("occasion", "")))


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@limited("submit")
@coaches_only
def write(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The draft for a reason, and what was sent to this member before."""
    asked = _asked(request, viewer, pk)
    streamed = class_asked(viewer, request.GET.get("class", ""))
    faults: list[Item] = []
    to_copy = ""
    if request.method == "POST":
        try:
            if request.POST.get("act") == "copy":
                to_copy = _to_copy(request, asked)
            else:
                messages.success(request, _act(request, viewer, asked))
                return redirect(back_to(streamed))
        except Refused as refused:
            faults = refused.items
    found, post = asked.found, request.POST
    words = draft(viewer=viewer, member=asked.member, found=found) if found else ""
    context = {
        "member": asked.member,
        "person": asked.person,
        "found": found,
        "streamed": streamed,
        "words": post.get("words", words),
        "to_copy": to_copy,
        "key": post.get("key") or uuid.uuid4().hex,
        "unreachable": unreachable(asked.member),
        "is_pain": found is not None and found.reason is Reason.PAIN,
        "letters": letters_to(viewer=viewer, member=asked.member)[:20],
        "back": back_to(streamed),
        "also": f"&class={streamed.pk}" if streamed else "",
        "faults": faults,
        "fault": {item.column: f"{item.problem} {item.suggestion}" for item in faults},
    }
    return render(
        request, "scoring/coach/follow_up_write.html", context, status=422 if faults else 200
    )


def _to_copy(request: HttpRequest, asked: Asked) -> str:
    """The words as they would be sent. For a pain, whom to ask stands below them always."""
    words = tidy_words(request.POST.get("words", ""))
    cautions = asked.found.cautions if asked.found else ()
    return "\n\n".join([words, *cautions])


def _act(request: HttpRequest, viewer: Membership, asked: Asked) -> str:
    """Send, or say that it was; answers what was done."""
    post, now, member = request.POST, timezone.now(), asked.member
    act, key = post.get("act", ""), post.get("key", "")
    if act == "send" and was_written(viewer=viewer, member=member, key=key):
        return f"The words to {member.display_name} are on their way already."
    if asked.found is None:
        raise refuse("", "That was seen to already.", "Nothing more is sent.", "conflict")
    reason, occasion = read_reason(asked.found.reason), asked.found.occasion
    if act == "copied":
        mark_done(member=member, by=viewer, reason=reason, occasion=occasion, now=now)
        return f"Done: {member.display_name}, {reason.label}."
    if act != "send":
        raise refuse("act", "That button is not known.", "Reload the page.")
    if why := unreachable(member):
        raise refuse("words", why, "Copy the words instead.", "conflict")
    done = write_letter(
        member=member, by=viewer, reason=reason, occasion=occasion,
        words=post.get("words", ""), key=key, now=now,
    )  # fmt: skip
    enqueue.follow_up_written(letter_id=done.letter.pk)
    return f"The words to {member.display_name} are on their way; at night they wait."
