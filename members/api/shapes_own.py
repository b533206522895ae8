"""A gym's settings, one's own body and leaving, as JSON."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from members.models import ShownAs


class GymSettingsShape(serializers.Serializer[Any]):
    name = serializers.CharField()
    slug = serializers.CharField()
    timezone = serializers.CharField()
    shown_as_default = serializers.ChoiceField(
        choices=ShownAs.choices, help_text="How who joins is shown on boards at first."
    )


class GymSettingsIn(serializers.Serializer[Any]):
    shown_as_default = serializers.ChoiceField(choices=ShownAs.choices)


class BodyShape(serializers.Serializer[Any]):
    """For nobody but its member; null is what was not told."""

    year_of_birth = serializers.IntegerField(allow_null=True)
    weight_kg = serializers.DecimalField(
        source="weight", max_digits=5, decimal_places=2, allow_null=True
    )


class BodyIn(serializers.Serializer[Any]):
    year_of_birth = serializers.IntegerField(allow_null=True, default=None)
    weight_kg = serializers.DecimalField(
        max_digits=5, decimal_places=2, allow_null=True, default=None
    )
