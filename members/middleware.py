"""Puts the viewer's membership on the request, and their time zone in force."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from members import selectors


class MembershipMiddleware:
    """``request.membership`` is the chosen membership, or None for a stranger."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        membership = selectors.current_membership(request)
        if membership is None:
            return self.get_response(request)
        with timezone.override(membership.zone):
            return self.get_response(request)
