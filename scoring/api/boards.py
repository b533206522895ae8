"""Boards: a page at a time, and as a file for a spreadsheet."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator
from io import StringIO
from itertools import islice
from typing import Any

from django.http import HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request

from members.api.base import MemberView
from scoring import metrics
from scoring.selectors.board_file import export_rows
from scoring.selectors.boards import Board as Shown
from scoring.selectors.boards import board

from . import shapes, told
from .classes import IF_NONE_MATCH, STALE, UNCHANGED, class_alone_or_404, class_or_404
from .conditional import tagged, unchanged


def board_json(shown: Shown) -> bytes:
    """A board as JSON. The rows of a page are written once for all who see it, the caller's
    own beside them."""
    kept: list[bytes] | None = shown.page.kept.get("json")
    if kept is None:
        kept = shown.page.kept["json"] = [_json(told.row(row)) for row in shown.page.rows]
    rows, at = kept, shown.own_place
    if at is not None and shown.own is not None:
        rows = [*kept[:at], _json(told.row(shown.own)), *kept[at + 1 :]]
    around = _json(told.board(shown)).removesuffix(b"}")
    return around + b',"rows":[' + b",".join(rows) + b"]}"


def _json(told: object) -> bytes:
    written: bytes = JSONRenderer().render(told)
    return written


class Board(MemberView):
    """The board of a class."""

    @extend_schema(
        operation_id="board",
        parameters=[shapes.BoardAsked, IF_NONE_MATCH],
        responses={200: shapes.BoardShape, **UNCHANGED, **STALE},
    )
    def get(self, request: Request, pk: int) -> HttpResponseBase:
        """A page of the board, my own row wherever it stands, and the rows around it."""
        streamed = class_alone_or_404(self.viewer, pk)
        part: dict[str, Any] = {}
        if request.query_params:
            asked = shapes.BoardAsked(data=request.query_params)
            asked.is_valid(raise_exception=True)
            part = asked.validated_data
        shown = board(streamed_class=streamed, viewer=self.viewer, now=timezone.now(), **part)
        assert shown is not None  # the class is seen, and so is its board
        # Weak: the same board is told with another "as of" each time.
        tag = f'W/"{shown.tag}.{shown.view}.{shown.offset}.{shown.limit}"'
        if answer := unchanged(request, tag):
            metrics.board_read("not modified")
            return answer
        # Told as it is: passing it through its shape again would take longer than the board.
        return tagged(HttpResponse(board_json(shown), content_type="application/json"), tag)


class BoardFile(MemberView):
    """The whole board for a spreadsheet."""

    @extend_schema(
        operation_id="board_csv",
        parameters=[shapes.ViewAsked],
        responses={(200, "text/csv"): OpenApiTypes.STR},
    )
    def get(self, request: Request, pk: int) -> HttpResponseBase:
        """Every row as CSV in UTF-8; names that a spreadsheet would run are quoted."""
        streamed = class_or_404(self.viewer, pk)
        asked = shapes.ViewAsked(data=request.query_params)
        asked.is_valid(raise_exception=True)
        rows = export_rows(
            streamed_class=streamed, viewer=self.viewer, view=asked.validated_data["view"]
        )
        return csv_answer(rows, f"board-{pk}.csv")


HEADER = (
    "rank",
    "name",
    "mark",
    "raw_reps",
    "credited_reps",
    "pace_per_minute",
    "as_prescribed",
    "adjusted",
)


AT_ONCE = 500
"""Rows that are sent together: some ten kilobytes."""


def csv_answer(rows: Iterable[dict[str, object]], name: str) -> StreamingHttpResponse:
    """A file to keep (RFC 4180: lines end with CR LF), sent as its rows are read."""
    answer = StreamingHttpResponse(_lines(rows), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _lines(rows: Iterable[dict[str, object]]) -> Iterator[str]:
    out = StringIO()
    writer = csv.DictWriter(out, HEADER)
    writer.writeheader()
    left = iter(rows)
    while some := list(islice(left, AT_ONCE)):
        writer.writerows(some)
        yield out.getvalue()
        out.seek(0)
        out.truncate()
    yield out.getvalue()
