"""The audit trail and closing times, for programs of coaches."""

from __future__ import annotations

from typing import Any

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, Asked, CoachView, Time, page_of, paged
from members.keys import is_key
from scoring.selectors.audit import WORDS, audit_of, deed
from scoring.services.closing import set_closing

from . import shapes
from .classes import _detail, managed_or_404


class DeedShape(serializers.Serializer[Any]):
    """Who did what, to whom, when and why."""

    at = Time()
    by = serializers.CharField(
        source="deed.by", help_text="Empty: it happened by itself, or who did it was erased."
    )
    what = serializers.ChoiceField(choices=sorted(WORDS))
    words = serializers.CharField(source="deed.words")
    member = serializers.IntegerField(allow_null=True, help_text="About whom it was.")
    name = serializers.CharField(source="deed.whom")
    subject = serializers.CharField(help_text="What it was about, such as a class's title.")
    subject_key = serializers.CharField(help_text="Which row that is, such as class 12.")
    why = serializers.CharField()
    details = serializers.DictField(child=serializers.JSONField())


class ClosingIn(serializers.Serializer[Any]):
    """When a class closes by itself; null for by hand."""

    closes_at = Time(allow_null=True)


def _told(entry: Any) -> dict[str, Any]:
    return {
        "deed": deed(entry),
        "member": entry.member_id,
        **{
            name: getattr(entry, name)
            for name in ("at", "what", "subject", "subject_key", "why", "details")
        },
    }


class Audit(CoachView):
    """What was done in the gym's name."""

    @extend_schema(
        operation_id="audit",
        parameters=[
            Asked,
            OpenApiParameter("what", OpenApiTypes.STR, enum=sorted(WORDS), description="One deed."),
            OpenApiParameter("member", OpenApiTypes.INT, description="About one member."),
        ],
        responses=page_of(DeedShape),
    )
    def get(self, request: Request) -> Response:
        """Who did what, to whom, when and why, the newest first. No line ever changes."""
        what, asked = request.query_params.get("what", ""), request.query_params.get("member", "")
        found = audit_of(
            viewer=self.viewer,
            what=what[:40],
            member_id=int(asked) if is_key(asked) else None,
        )
        return paged(self, found, lambda rows: DeedShape([_told(r) for r in rows], many=True).data)


class Closing(CoachView):
    """When a class closes by itself."""

    @extend_schema(
        operation_id="class_closing",
        request=ClosingIn,
        responses={200: shapes.ClassDetail, **REFUSED},
    )
    def put(self, request: Request, pk: int) -> Response:
        """Let a class close by itself at a time, or by hand."""
        sent = self.read(ClosingIn)
        streamed = managed_or_404(self.viewer, pk)
        set_closing(
            streamed_class=streamed,
            by=self.viewer,
            closes_at=sent["closes_at"],
            now=timezone.now(),
        )
        return _detail(pk, self.viewer)
