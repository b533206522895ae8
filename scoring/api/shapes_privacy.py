"""Privacy, copies of data and erasures as JSON."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from members.api.base import Time
from scoring.models import DataExport, Erasure

EXPORT_STATES = [("none", "none"), *DataExport.State.choices]


class LineShape(serializers.Serializer[Any]):
    """Who sees one kind of thing of me; nobody outside the gym sees any."""

    key = serializers.CharField()
    what = serializers.CharField()
    who = serializers.CharField()
    more = serializers.CharField(allow_blank=True)
    classmates = serializers.BooleanField()
    coaches = serializers.BooleanField()


class ExportShape(serializers.Serializer[Any]):
    """A copy of my data; its link is sent by e-mail and told nowhere else."""

    state = serializers.ChoiceField(choices=EXPORT_STATES)
    asked_at = Time(allow_null=True)
    made_at = Time(allow_null=True)
    expires_at = Time(allow_null=True)


class ErasureIn(serializers.Serializer[Any]):
    results = serializers.ChoiceField(choices=Erasure.Results.choices)


class ErasureShape(serializers.Serializer[Any]):
    """``is_asked`` is false, and all else null, where nothing was asked for. ``hindered_by``
    names the gyms that need another owner first."""

    is_asked = serializers.BooleanField()
    results = serializers.ChoiceField(choices=Erasure.Results.choices, allow_null=True)
    asked_at = Time(allow_null=True)
    due_at = Time(allow_null=True)
    hindered_by = serializers.ListField(child=serializers.CharField())
