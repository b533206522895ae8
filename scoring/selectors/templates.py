"""Frames for classes, as the gym's coaches see them."""

from __future__ import annotations

from django.db.models import QuerySet

from scoring import access
from scoring.models import ClassTemplate


def templates_for(*, viewer: access.Viewer) -> QuerySet[ClassTemplate]:
    """Every frame the viewer may use, by name."""
    return access.visible_templates(viewer).select_related("author").order_by("name", "pk")


def template_for(*, viewer: access.Viewer, pk: int) -> ClassTemplate | None:
    """One frame, ``None`` if there is none that the viewer may use."""
    return access.visible_templates(viewer).select_related("author").filter(pk=pk).first()
