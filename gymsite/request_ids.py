"""One number for a request: in every line that is logged of it, in its answer, in the tasks
it starts, and on the page that says something went wrong."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable

import structlog
from django.http import HttpRequest, HttpResponse
from django_structlog.middlewares import RequestMiddleware

from gymsite.logs import safe_path

HEADER = "X-Request-ID"
_META = "HTTP_X_REQUEST_ID"
# What proxies make: hexadecimal digits, UUIDs, and the like. Anything else is not ours to log.
_GOOD = re.compile(r"[A-Za-z0-9_-]{8,64}")


class RequestIdMiddleware:
    """Takes the number a proxy gave, if it looks like one, or makes one; and returns it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if not _GOOD.fullmatch(request.META.get(_META, "")):
            request.META[_META] = str(uuid.uuid4())
        number = request.META[_META]
        structlog.contextvars.clear_contextvars()
        structlog.contextvars.bind_contextvars(request_id=number)
        response = self.get_response(request)
        response[HEADER] = number
        return response


class RequestLogMiddleware(RequestMiddleware):
    """Two lines a request, without what was asked in its address."""

    @staticmethod
    def format_request(request: HttpRequest) -> str:
        return f"{request.method} {safe_path(request.path)}"
