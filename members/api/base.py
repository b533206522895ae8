"""What every address of the JSON API shares: who calls, pages of lists, times."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiResponse
from rest_framework import exceptions, pagination, serializers
from rest_framework.permissions import SAFE_METHODS
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import BaseThrottle
from rest_framework.views import APIView

from members.limits import OfScope
from members.models import Membership
from members.selectors import current_membership
from members.viewer import NO_GYM

# Bodies of errors are problem documents everywhere; the schema says so in one place.
REFUSED = {
    409: OpenApiResponse(description="It clashes with what is there."),
    422: OpenApiResponse(description="The body has the right shape but can't be taken."),
}
COACHES_ONLY = "Only coaches of the gym do this."
MAX_PAGE = 200


class MemberView(APIView):
    """For members of a gym. Who belongs to several names one by the ``X-Gym`` header."""

    viewer: Membership
    coaches_only = False

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        viewer = current_membership(request)  # type: ignore[arg-type]
        if viewer is None:
            raise exceptions.PermissionDenied(NO_GYM)
        self.viewer = viewer
        if self.coaches_only:
            self.demand_coach()

    def get_throttles(self) -> list[BaseThrottle]:
        """A limit of its own is for what writes; there it takes the place of the common one,
        so that one is counted."""
        has_own = bool(getattr(self, "throttle_scope", None))
        if has_own and self.request.method not in SAFE_METHODS:
            return [OfScope()]
        return [limit for limit in super().get_throttles() if not isinstance(limit, OfScope)]

    def demand_coach(self) -> None:
        """Raises ``PermissionDenied`` for members."""
        if not self.viewer.is_coach:
            raise exceptions.PermissionDenied(COACHES_ONLY)

    def read(self, serializer: type[serializers.Serializer[Any]]) -> dict[str, Any]:
        """The body as the serializer takes it. Raises ``ValidationError`` for a wrong shape."""
        taken = serializer(data=self.request.data)
        taken.is_valid(raise_exception=True)
        return dict(taken.validated_data)


class CoachView(MemberView):
    """For coaches and owners of the gym."""

    coaches_only = True


class PreconditionFailed(exceptions.APIException):
    """If-Match named another version than the one here (RFC 9110, section 13.1.1)."""

    status_code = 412
    default_detail = "It changed since you read it. Read it again, then send your change."
    default_code = "precondition_failed"


class Asked(serializers.Serializer[Any]):
    """Which part of a list: ``offset`` rows are left out, then ``limit`` given."""

    offset = serializers.IntegerField(min_value=0, max_value=10_000_000, default=0)
    limit = serializers.IntegerField(min_value=1, max_value=MAX_PAGE, default=50)


class Pages(pagination.LimitOffsetPagination):
    """Pages by ``limit`` and ``offset``; what can't be read is refused, not guessed."""

    default_limit = 50
    max_limit = MAX_PAGE

    def paginate_queryset(
        self,
        queryset: Any,
        request: Request,
        view: APIView | None = None,
    ) -> list[Any] | None:
        given = {name: request.query_params[name] for name in request.query_params}
        Asked(data=given).is_valid(raise_exception=True)
        return super().paginate_queryset(queryset, request, view)


def page_of(shape: type[serializers.Serializer[Any]]) -> type[serializers.Serializer[Any]]:
    """The shape of a page of a list, for the schema."""
    fields = {
        "__doc__": "A page of a list, with the addresses of the pages beside it.",
        "count": serializers.IntegerField(),
        "next": serializers.URLField(allow_null=True),
        "previous": serializers.URLField(allow_null=True),
        "results": shape(many=True),
    }
    return type(f"{shape.__name__}Page", (serializers.Serializer,), fields)


def paged(
    view: APIView,
    found: QuerySet[Any] | Sequence[Any],
    serialize: Callable[[list[Any]], Any],
) -> Response:
    """A page of a list as ``{"count", "next", "previous", "results"}``."""
    pages = Pages()
    rows = pages.paginate_queryset(found, view.request, view) or []
    return pages.get_paginated_response(serialize(rows))


class Number(serializers.IntegerField):
    """The number of something that is kept: no larger than a database's numbers are."""

    def __init__(self, **more: Any) -> None:
        super().__init__(min_value=1, max_value=2**63 - 1, **more)


class Time(serializers.DateTimeField):
    """A moment, given with its offset from UTC and answered in UTC."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(default_timezone=UTC, **kwargs)

    def to_internal_value(self, value: Any) -> datetime:
        read: datetime = super().to_internal_value(value)
        text = str(value)
        if not (text.upper().endswith("Z") or "+" in text[10:] or "-" in text[10:]):
            raise serializers.ValidationError(
                "The time has no offset. Write it like 2026-12-01T18:30:00+00:00.",
                code="offset",
            )
        return read
