"""The secret address of one's calendar as JSON."""

from __future__ import annotations

from typing import Any

from django.urls import reverse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from members import feeds
from members.models import Membership

from .base import MemberView, Time


class CalendarShape(serializers.Serializer[Any]):
    """Whether there is an address that works, and since when."""

    exists = serializers.BooleanField()
    made_at = Time(allow_null=True)


class NewCalendarShape(CalendarShape):
    """An address just made. It is told in this answer and never again."""

    address = serializers.URLField()


def _told(viewer: Membership) -> dict[str, Any]:
    feed = feeds.feed_of(viewer)
    told = {"exists": feed is not None, "made_at": feed.made_at if feed else None}
    return dict(CalendarShape(told).data)


class Calendar(MemberView):
    """My classes for a calendar program, at a secret address."""

    @extend_schema(operation_id="me_calendar", responses=CalendarShape)
    def get(self, request: Request) -> Response:
        """Whether my calendar has an address."""
        return Response(_told(self.viewer))

    @extend_schema(operation_id="me_calendar_make", request=None, responses={201: NewCalendarShape})
    def post(self, request: Request) -> Response:
        """Make a new address; the one before it leads nowhere any more."""
        token = feeds.make_feed(membership=self.viewer, now=timezone.now())
        address = request.build_absolute_uri(reverse("calendar-feed", args=[token]))
        return Response(_told(self.viewer) | {"address": address}, status=201)

    @extend_schema(operation_id="me_calendar_revoke", responses={204: None})
    def delete(self, request: Request) -> Response:
        """Make the address useless; doing it twice is fine."""
        feeds.revoke_feed(membership=self.viewer)
        return Response(status=204)
