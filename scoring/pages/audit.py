"""The audit trail: what was done in the gym's name. To read; nothing here can be changed."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from members.keys import is_key
from members.models import Membership
from members.selectors import members_of
from scoring.selectors.audit import WORDS, audit_of, deeds

from .viewer import coaches_only

DEEDS_A_PAGE = 50


@never_cache
@require_safe
@coaches_only
def audit_page(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Who did what, to whom, when and why; narrowed by deed and by member."""
    what = request.GET.get("what", "")
    asked = request.GET.get("member", "")
    member_id = int(asked) if is_key(asked) else None
    found = audit_of(viewer=viewer, what=what if what in WORDS else "", member_id=member_id)
    page = Paginator(found, DEEDS_A_PAGE).get_page(request.GET.get("page"))
    kept = f"what={what}&member={asked}" if what in WORDS or member_id else ""
    context = {
        "page": page,
        "deeds": deeds(page),
        "words": WORDS.items(),
        "what": what,
        "member": member_id,
        "members": members_of(viewer.gym),
        "kept": f"&{kept}" if kept else "",
        "is_narrowed": bool(kept),
    }
    return render(request, "scoring/coach/audit.html", context)
