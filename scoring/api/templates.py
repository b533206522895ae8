"""Templates: frames for classes that the gym's coaches keep."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, Asked, CoachView, page_of, paged
from scoring.models import ClassTemplate
from scoring.selectors.templates import template_for, templates_for
from scoring.services.templates import remove_template, save_template

from .shapes_week import TemplateIn, TemplateShape


def _told(row: ClassTemplate) -> dict[str, Any]:
    return {
        "id": row.pk,
        "name": row.name,
        "text": row.text,
        "note": row.note,
        "author": row.author.display_name if row.author else None,
        "changed_at": row.changed_at,
    }


class Templates(CoachView):
    """The gym's templates."""

    @extend_schema(operation_id="templates", parameters=[Asked], responses=page_of(TemplateShape))
    def get(self, request: Request) -> Response:
        """Every template, by name."""
        found = templates_for(viewer=self.viewer)
        return paged(self, found, lambda rows: TemplateShape(map(_told, rows), many=True).data)

    @extend_schema(
        operation_id="template_make",
        request=TemplateIn,
        responses={201: TemplateShape, **REFUSED},
    )
    def post(self, request: Request) -> Response:
        """Keep a template. Its text need not be a readable workout."""
        row = save_template(by=self.viewer, now=timezone.now(), **self.read(TemplateIn))
        return Response(TemplateShape(_told(row)).data, status=201)


class Template(CoachView):
    """One template."""

    @extend_schema(operation_id="template", responses=TemplateShape)
    def get(self, request: Request, pk: int) -> Response:
        """One template as it is kept."""
        return Response(TemplateShape(_told(self._row(pk))).data)

    @extend_schema(
        operation_id="template_change",
        request=TemplateIn,
        responses={200: TemplateShape, **REFUSED},
    )
    def put(self, request: Request, pk: int) -> Response:
        """Change a template, all of it."""
        row = save_template(
            by=self.viewer, template=self._row(pk), now=timezone.now(), **self.read(TemplateIn)
        )
        return Response(TemplateShape(_told(row)).data)

    @extend_schema(operation_id="template_remove", responses={204: None, **REFUSED})
    def delete(self, request: Request, pk: int) -> Response:
        """Remove a template; classes made from it stay."""
        remove_template(template=self._row(pk), by=self.viewer, now=timezone.now())
        return Response(status=204)

    def _row(self, pk: int) -> ClassTemplate:
        row = template_for(viewer=self.viewer, pk=pk)
        if row is None:
            raise Http404
        return row
