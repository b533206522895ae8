"""Imports: begin, look through, mend, confirm, take back."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from django.urls import reverse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, Asked, CoachView, page_of, paged
from members.models import Membership
from members.selectors import members_of
from scoring import enqueue
from scoring.models import ImportLine, ImportRun
from scoring.problems import refuse
from scoring.selectors.imports import counts_of, import_for, imports_of, line_for, lines_of
from scoring.services.import_mending import mend_line
from scoring.services.importing import confirm_import, drop_import, start_import, undo_import

from . import shapes_imports as shapes
from .classes import managed_or_404


def _run(viewer: Membership, pk: int) -> ImportRun:
    found = import_for(viewer=viewer, pk=pk)
    if found is None:
        raise Http404
    return found


def _answer(viewer: Membership, pk: int, status: int = 200) -> Response:
    run = _run(viewer, pk)
    told = shapes.ImportShape(shapes.told_import(run, counts_of(run))).data
    where = {"Location": reverse("api-import", args=[pk])} if status in (201, 202) else None
    return Response(told, status=status, headers=where)


class Imports(CoachView):
    """The imports of a class."""

    @extend_schema(
        operation_id="imports", parameters=[Asked], responses=page_of(shapes.ImportShape)
    )
    def get(self, request: Request, pk: int) -> Response:
        """What was brought into a class, the newest first."""
        streamed = managed_or_404(self.viewer, pk)
        return paged(
            self,
            imports_of(streamed_class=streamed, viewer=self.viewer),
            lambda rows: (
                shapes.ImportShape(
                    [shapes.told_import(row, counts_of(row)) for row in rows], many=True
                ).data
            ),
        )

    @extend_schema(
        operation_id="import_begin",
        request=shapes.ImportIn,
        responses={201: shapes.ImportShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Give a chat or a file. Its lines are read; nothing is logged before it is confirmed.

        While it is `reading`, ask again; the same text given twice is one import.
        """
        streamed = managed_or_404(self.viewer, pk)
        sent = self.read(shapes.ImportIn)
        run = start_import(
            streamed_class=streamed,
            by=self.viewer,
            kind=sent["kind"],
            data=sent["text"].encode("utf-8", "replace"),
            now=timezone.now(),
        )
        enqueue.work_on_import(pk=run.pk, state=run.state)
        return _answer(self.viewer, run.pk, status=201)


class Import(CoachView):
    """One import."""

    @extend_schema(operation_id="import", responses=shapes.ImportShape)
    def get(self, request: Request, pk: int) -> Response:
        """How far an import is, and how many of its lines are good, wrong or doubtful."""
        return _answer(self.viewer, pk)

    @extend_schema(operation_id="import_drop", responses={204: None, **REFUSED})
    def delete(self, request: Request, pk: int) -> Response:
        """Throw an import away of which nothing is in."""
        drop_import(run=_run(self.viewer, pk), by=self.viewer)
        return Response(status=204)


class ImportLines(CoachView):
    """The lines of an import."""

    @extend_schema(
        operation_id="import_lines",
        parameters=[shapes.LinesAsked],
        responses=page_of(shapes.ImportLineShape),
    )
    def get(self, request: Request, pk: int) -> Response:
        """Each line as it is understood, or with what is wrong and what would be right."""
        run = _run(self.viewer, pk)
        asked = shapes.LinesAsked(data=request.query_params)
        asked.is_valid(raise_exception=True)
        state = asked.validated_data.get("state", "")
        return paged(
            self,
            lines_of(run=run, viewer=self.viewer, state=state),
            lambda rows: (
                shapes.ImportLineShape([shapes.told_line(row) for row in rows], many=True).data
            ),
        )


class ImportLineOne(CoachView):
    """One line of an import."""

    @extend_schema(
        operation_id="import_line_change",
        request=shapes.LineChange,
        responses={200: shapes.ImportLineShape, **REFUSED},
    )
    def patch(self, request: Request, pk: int, number: int) -> Response:
        """Change how a line is to be understood; it is read again."""
        run = _run(self.viewer, pk)
        line = self._line(run, number)
        sent: dict[str, Any] = self.read(shapes.LineChange)
        if "member" in sent:
            sent["member"] = members_of(run.gym).filter(pk=sent["member"]).first()
            if sent["member"] is None:
                raise refuse("member", "Your gym has no such member.", "List /api/v1/members/.")
        mend_line(line=line, by=self.viewer, now=timezone.now(), **sent)
        enqueue.work_on_import(pk=run.pk, state=_run(self.viewer, pk).state)
        told = shapes.told_line(self._line(run, number))
        return Response(shapes.ImportLineShape(told).data)

    def _line(self, run: ImportRun, number: int) -> ImportLine:
        found = line_for(run=run, viewer=self.viewer, number=number)
        if found is None:
            raise Http404
        return found


class ImportConfirm(CoachView):
    """Bringing an import in."""

    @extend_schema(
        operation_id="import_confirm",
        request=shapes.WhyIn,
        responses={202: shapes.ImportShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Bring in the lines that are `good`. A closed class needs a reason.

        Asked again it goes on. While it is `saving`, ask for the import again.
        """
        why = self.read(shapes.WhyIn)["reason"]
        run = _run(self.viewer, pk)
        run = confirm_import(run=run, by=self.viewer, reason=why, now=timezone.now())
        enqueue.work_on_import(pk=run.pk, state=run.state)
        return _answer(self.viewer, pk, status=202)


class ImportUndo(CoachView):
    """Taking an import back."""

    @extend_schema(
        operation_id="import_undo",
        request=shapes.WhyIn,
        responses={202: shapes.ImportShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Let every result stand as it did before, but for those changed since."""
        why = self.read(shapes.WhyIn)["reason"]
        run = undo_import(run=_run(self.viewer, pk), by=self.viewer, reason=why, now=timezone.now())
        enqueue.work_on_import(pk=run.pk, state=run.state)
        return _answer(self.viewer, pk, status=202)
