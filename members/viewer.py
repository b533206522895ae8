"""Who is looking: the viewer's membership, asked for once and handed to each page."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse

from members.models import Membership, User
from members.selectors import current_membership

P = ParamSpec("P")
Page = Callable[Concatenate[HttpRequest, Membership, P], HttpResponse]

NO_GYM = "You don't belong to a gym here yet. Ask your coach for an invitation link."


def members_only(page: Page[P]) -> Callable[Concatenate[HttpRequest, P], HttpResponse]:
    """Hand the viewer's membership to a page; send strangers to sign in."""

    @wraps(page)
    def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        viewer = current_membership(request)
        if viewer is not None:
            return page(request, viewer, *args, **kwargs)
        if not request.user.is_authenticated:
            return redirect_to_login(request.get_full_path())
        raise PermissionDenied(NO_GYM)

    return guarded


def coaches_only(page: Page[P]) -> Callable[Concatenate[HttpRequest, P], HttpResponse]:
    """Like ``members_only``, for pages that only coaches have."""

    @wraps(page)
    def guarded(
        request: HttpRequest, viewer: Membership, /, *args: P.args, **kwargs: P.kwargs
    ) -> HttpResponse:
        if not viewer.is_coach:
            raise PermissionDenied("Only coaches of the gym have this page.")
        return page(request, viewer, *args, **kwargs)

    return members_only(guarded)


def signed_in(
    page: Callable[Concatenate[HttpRequest, User, P], HttpResponse],
) -> Callable[Concatenate[HttpRequest, P], HttpResponse]:
    """Hand the account to a page that also those have who left every gym."""

    @wraps(page)
    def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if not isinstance(request.user, User):
            return redirect_to_login(request.get_full_path())
        return page(request, request.user, *args, **kwargs)

    return guarded
