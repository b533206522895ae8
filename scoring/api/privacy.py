"""Who sees what of me, a copy of it, and being erased.

Copies and erasures also answer those who left every gym, so no membership is asked for.
"""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from members.api.base import REFUSED, MemberView
from members.models import User
from scoring import enqueue
from scoring.models import DataExport
from scoring.selectors.privacy import who_sees
from scoring.services.erasures import ask_erasure, erasure_of, hindered_by, take_back
from scoring.services.exporting import archive_for, ask_export, latest_export

from . import shapes_privacy as shapes


def _user(request: Request) -> User:
    assert isinstance(request.user, User)  # no stranger gets here
    return request.user


class Privacy(MemberView):
    """Who sees what of me."""

    @extend_schema(operation_id="me_privacy", responses=shapes.LineShape(many=True))
    def get(self, request: Request) -> Response:
        """Each kind of thing kept of me, and who sees it as I have it set now."""
        return Response(shapes.LineShape(who_sees(self.viewer), many=True).data)


class Export(APIView):
    """A copy of all that is kept of me."""

    @extend_schema(operation_id="me_export", responses=shapes.ExportShape)
    def get(self, request: Request) -> Response:
        """How far the copy is that I asked for last."""
        return Response(_export_told(latest_export(user=_user(request), now=timezone.now())))

    @extend_schema(
        operation_id="me_export_ask",
        request=None,
        responses={202: shapes.ExportShape, **REFUSED},
    )
    def post(self, request: Request) -> Response:
        """Ask for a copy. Its link comes by e-mail, works for seven days, and only for me."""
        user, now = _user(request), timezone.now()
        row = ask_export(user=user, site=request.build_absolute_uri("/"), now=now)
        enqueue.make_export(pk=row.pk)
        return Response(_export_told(latest_export(user=user, now=now)), status=202)


def _export_told(row: DataExport | None) -> dict[str, object]:
    if row is None:
        none = {"state": "none", "asked_at": None, "made_at": None, "expires_at": None}
        return dict(shapes.ExportShape(none).data)
    return dict(shapes.ExportShape(row).data)


class ExportFile(APIView):
    """The archive itself."""

    @extend_schema(
        operation_id="me_export_file",
        responses={(200, "application/zip"): OpenApiTypes.BINARY},
    )
    def get(self, request: Request, token: str) -> HttpResponse:
        """The archive, by the last part of the e-mailed link, for its own member."""
        row = archive_for(user=_user(request), token=token, now=timezone.now())
        if row is None:
            raise Http404
        answer = HttpResponse(bytes(row.archive), content_type="application/zip")
        answer["Content-Disposition"] = 'attachment; filename="my-data.zip"'
        answer["Cache-Control"] = "no-store"
        return answer


class ErasureOne(APIView):
    """Being erased."""

    @extend_schema(operation_id="me_erasure", responses=shapes.ErasureShape)
    def get(self, request: Request) -> Response:
        """Whether I asked to be erased, and when that is due."""
        return _erasure_told(_user(request))

    @extend_schema(
        operation_id="me_erasure_ask",
        request=shapes.ErasureIn,
        responses={202: shapes.ErasureShape, **REFUSED},
    )
    def post(self, request: Request) -> Response:
        """Ask to be erased after the days of grace, in every gym; say what becomes of results."""
        sent = shapes.ErasureIn(data=request.data)
        sent.is_valid(raise_exception=True)
        user = _user(request)
        row = ask_erasure(user=user, results=sent.validated_data["results"], now=timezone.now())
        enqueue.tell_erasure_asked(pk=row.pk, site=request.build_absolute_uri("/"))
        return _erasure_told(user, status=202)

    @extend_schema(operation_id="me_erasure_take_back", responses={204: None})
    def delete(self, request: Request) -> Response:
        """Stay after all; doing it twice is fine."""
        take_back(user=_user(request))
        return Response(status=204)


def _erasure_told(user: User, status: int = 200) -> Response:
    row = erasure_of(user)
    told = {
        "is_asked": row is not None,
        "results": row.results if row else None,
        "asked_at": row.asked_at if row else None,
        "due_at": row.due_at if row else None,
        "hindered_by": [gym.name for gym in hindered_by(user)],
    }
    return Response(shapes.ErasureShape(told).data, status=status)
