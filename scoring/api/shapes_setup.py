"""Gear, habits and fits as JSON."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from rest_framework import serializers

from scoring.core.figures import figure
from scoring.core.fitting import Fit, Why
from scoring.core.gear import LOADED, PIECES
from scoring.mapping import course_of
from scoring.models import StreamedClass


class SetupIn(serializers.Serializer[Any]):
    """What I have: ``loads`` are weights by the piece, ``usual`` an option by movement."""

    pieces = serializers.ListField(
        child=serializers.CharField(max_length=40),
        max_length=len(PIECES),
        help_text=f"Of: {', '.join(PIECES)}.",
    )
    loads = serializers.DictField(
        child=serializers.CharField(max_length=400, allow_blank=True),
        default=dict,
        help_text=f"Such as 8, 12, 16 kg; by {', '.join(LOADED)}.",
    )
    usual = serializers.DictField(
        child=serializers.CharField(max_length=200, allow_blank=True), default=dict
    )
    unit = serializers.ChoiceField(choices=["kg", "lb"], default="kg")


class SetupShape(SetupIn):
    has_told_gear = serializers.BooleanField(help_text="If not, everything fits.")


class FitShape(serializers.Serializer[Any]):
    """The way that fits a line. ``option`` is what to log it as, empty as prescribed;
    ``label`` and ``credit`` are null where nothing offered fits."""

    line = serializers.CharField()
    movement = serializers.CharField()
    label = serializers.CharField(allow_null=True)  # type: ignore[assignment]
    option = serializers.CharField(allow_blank=True)
    credit = serializers.CharField(allow_null=True)
    source = serializers.CharField(allow_blank=True)  # type: ignore[assignment]
    why = serializers.ChoiceField(choices=[(why.value, why.value) for why in Why])
    easier = serializers.ListField(child=serializers.CharField())


def fits_told(streamed: StreamedClass, fits: Iterable[Fit]) -> list[dict[str, Any]]:
    """Fits as plain data."""
    lines = course_of(streamed).lines
    return [
        {
            "line": lines[fit.line].number,
            "movement": fit.movement,
            "label": fit.label or None,
            "option": "" if fit.is_as_written else fit.label,
            "credit": None if fit.credit is None else figure(fit.credit, most=4),
            "source": fit.source,
            "why": fit.why.value,
            "easier": list(fit.easier),
        }
        for fit in fits
    ]
