"""The calendar feed: whoever has its secret address reads it, without signing in."""

from __future__ import annotations

import hashlib

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response, patch_cache_control
from django.views.decorators.http import require_safe

from members.feeds import holder
from scoring.models import StreamedClass
from scoring.selectors.calendar import calendar_of


@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponseBase:
    """A member's classes; nothing at an address that is wrong, taken back, or of who left."""
    viewer = holder(token)
    if viewer is None:
        raise Http404

    def address(streamed: StreamedClass) -> str:
        return request.build_absolute_uri(reverse("class", args=[streamed.pk]))

    told = calendar_of(
        viewer=viewer,
        now=timezone.now(),
        address=address,
        cautions=request.build_absolute_uri(reverse("cautions")),
    )
    tag = f'"{hashlib.sha256(told).hexdigest()[:24]}"'
    answer = get_conditional_response(request, etag=tag)
    if answer is None:
        answer = HttpResponse(told, content_type="text/calendar; charset=utf-8")
        answer["Content-Disposition"] = 'inline; filename="classes.ics"'
    answer["ETag"] = tag
    patch_cache_control(answer, private=True, no_cache=True)
    return answer
