"""ETags: an unchanged thing costs a 304, a change of something changed meanwhile a 412."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.http import HttpResponseBase
from django.utils.cache import get_conditional_response, patch_cache_control
from django.utils.http import parse_etags
from rest_framework.request import Request

from members.api.base import PreconditionFailed


def tag_of(told: Any) -> str:
    """A strong ETag of what is told."""
    text = json.dumps(told, cls=DjangoJSONEncoder, sort_keys=True)
    return f'"{hashlib.sha256(text.encode()).hexdigest()[:24]}"'


def unchanged(request: Request, tag: str) -> HttpResponseBase | None:
    """The 304 for somebody who has it already, else ``None``.

    Raises ``PreconditionFailed`` where If-Match names another version.
    """
    answer = get_conditional_response(request._request, etag=tag)
    if answer is None:
        return None
    if answer.status_code == 412:
        raise PreconditionFailed
    patch_cache_control(answer, private=True, no_cache=True)
    return answer


def demand_match(request: Request, tag: str) -> bool:
    """Whether an If-Match came, after checking that it names this version."""
    sent = request.headers.get("If-Match")
    if not sent:
        return False
    # Strong comparison: a weak tag never matches (RFC 9110, section 13.1.1).
    tags = parse_etags(sent)
    if "*" not in tags and tag not in tags:
        raise PreconditionFailed
    return True


def tagged(response: Any, tag: str) -> Any:
    """A response that names its version and is kept by its receiver only.

    Compressing would weaken a strong tag, which could then not be sent back in If-Match.
    """
    response["ETag"] = tag
    patch_cache_control(response, private=True, no_cache=True)
    if not tag.startswith("W/"):
        patch_cache_control(response, no_transform=True)
    return response
