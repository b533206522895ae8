"""Whoever has gone is not answered.

In a rush people give up and ask again, and a server that is behind would spend itself on
answers that nobody waits for, so that those who do wait give up as well. A question whose asker
has closed the connection is put away unread. What is sent to be kept is kept all the same: a
phone that got no answer sends it again under the same key.
"""

from __future__ import annotations

import select
import socket
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from prometheus_client import Counter

# Not of any standard; nobody receives it, and it tells the lines of a log apart.
CLIENT_CLOSED = 499
QUESTIONS = ("GET", "HEAD")
# Programs that look after the site may close their side before they read.
ALWAYS = "/health/"

_ABANDONED = Counter(
    "classboard_requests_abandoned", "Questions put away since their asker had gone."
)


class AbandonedMiddleware:
    """Stands before everything that takes time. The socket is what gunicorn tells; with another
    server, or behind TLS of its own, every question is answered."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        asker = request.META.get("gunicorn.socket")
        if (
            request.method in QUESTIONS
            and type(asker) is socket.socket
            and not request.path.startswith(ALWAYS)
            and has_gone(asker)
        ):
            _ABANDONED.inc()
            return HttpResponse(status=CLIENT_CLOSED)
        return self.get_response(request)


def has_gone(asker: socket.socket) -> bool:
    """Whether the other side has closed a connection; looks, and neither reads nor waits."""
    looking = select.poll()
    try:
        looking.register(asker, select.POLLIN)
        if not looking.poll(0):
            return False
        return not asker.recv(1, socket.MSG_PEEK)
    except (OSError, ValueError):  # reset, or closed on this side
        return True
