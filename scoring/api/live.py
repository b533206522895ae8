"""A class while its results come in: how it stands, one line to log, what is asked."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponseBase
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, Asked, CoachView, page_of, paged
from members.models import Membership
from scoring import enqueue, metrics
from scoring.models import StreamedClass
from scoring.problems import Refused
from scoring.selectors.live import Live, Row, live, live_version
from scoring.selectors.questions import Question, questions
from scoring.services.line_reading import LineRead, read_told
from scoring.services.lines import LineDone, log_line
from scoring.services.questions import answer_question

from . import shapes_live as shapes
from . import told
from .classes import IF_NONE_MATCH, STALE, UNCHANGED, managed_or_404
from .conditional import tagged, unchanged
from .results import KEY, key_sent


class LiveClass(CoachView):
    """How a class stands."""

    @extend_schema(
        operation_id="class_live",
        parameters=[Asked, IF_NONE_MATCH],
        responses={200: shapes.LiveShape, **UNCHANGED, **STALE},
    )
    def get(self, request: Request, pk: int) -> HttpResponseBase:
        """Who logged and who is missing, what is asked, what hurts, the newest results.

        Ask again every few seconds with the ETag; unchanged it is a 304.
        """
        streamed = managed_or_404(self.viewer, pk)
        asked = Asked(data=request.query_params)
        asked.is_valid(raise_exception=True)
        part = asked.validated_data
        version = live_version(streamed_class=streamed, viewer=self.viewer)
        tag = f'"{version}.{part["offset"]}.{part["limit"]}"'
        if answer := unchanged(request, tag):
            return answer
        shown = live(streamed_class=streamed, viewer=self.viewer, **part)
        assert shown is not None  # asked by somebody who manages the class
        return tagged(Response(shapes.LiveShape(_live(streamed, shown)).data), tag)


class Lines(CoachView):
    """Logging for somebody in one line."""

    throttle_scope = "submit"

    @extend_schema(
        operation_id="class_line",
        parameters=[KEY],
        request=shapes.LineIn,
        responses={200: shapes.ToldLineShape, 201: shapes.ToldLineShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Log what a line says, at once if nothing in it is doubtful (201).

        200 with ``kept`` false says what must be said first; nothing is kept then, nor with
        ``dry_run``. What can't be is a 422 that says what would be right. The same line under
        the same key is one result.
        """
        streamed = managed_or_404(self.viewer, pk)
        key = key_sent(request)
        sent = self.read(shapes.LineIn)
        asked = {
            "streamed_class": streamed,
            "by": self.viewer,
            "line": sent["line"],
            "member": sent.get("member"),
            "answers": sent["answers"],
        }
        if sent["dry_run"]:
            read = read_told(**asked)
            if read.problems:
                raise Refused(*read.problems)
            return Response(shapes.ToldLineShape(_line(LineDone(read, None))).data)
        try:
            line = log_line(
                **asked,
                key=key,
                now=timezone.now(),
                correct=sent["correct"],
                reason=sent["reason"],
            )
        except Refused as refused:
            if refused.items[0].column == "key":
                raise Refused(*refused.items) from None  # 422, as results have it
            raise
        if line.done is not None:
            metrics.result_sent("coach", line.done)
        is_new = line.done is not None and not line.done.replayed
        if is_new and line.done is not None:
            enqueue.result_corrected(fact_id=line.done.fact.pk)
        return Response(shapes.ToldLineShape(_line(line)).data, status=201 if is_new else 200)


class Questions(CoachView):
    """What is asked about a class's results."""

    @extend_schema(
        operation_id="class_questions",
        parameters=[Asked],
        responses=page_of(shapes.QuestionShape),
    )
    def get(self, request: Request, pk: int) -> Response:
        """Odd marks, each with the reason, the newest result first."""
        found = questions(streamed_class=managed_or_404(self.viewer, pk), viewer=self.viewer)
        return paged(
            self,
            found,
            lambda rows: shapes.QuestionShape([_question(row) for row in rows], many=True).data,
        )

    @extend_schema(
        operation_id="class_question_answer",
        request=shapes.QuestionIn,
        responses={200: shapes.QuestionIn, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Find a fact right as it is: it isn't asked about again. If it is not right,
        correct the result."""
        streamed = managed_or_404(self.viewer, pk)
        sent = self.read(shapes.QuestionIn)
        answer = answer_question(
            streamed_class=streamed,
            fact_id=sent["fact"],
            kind=sent["kind"],
            by=self.viewer,
            now=timezone.now(),
        )
        return Response(shapes.QuestionIn({"fact": answer.fact_id, "kind": answer.kind}).data)


def _person(member: Membership) -> dict[str, Any]:
    return {"member": member.pk, "name": member.display_name}


def _live(streamed: StreamedClass, shown: Live) -> dict[str, Any]:
    return {
        "state": streamed.state,
        "logged": shown.logged,
        "missing": shown.missing,
        "usual": {
            "rule": shown.usual.rule,
            "total": shown.usual_total,
            "logged": shown.usual_there,
            "missing": [_person(member) for member in shown.missing_usual],
        },
        "others_missing": [_person(member) for member in shown.missing_others],
        "newest": [_newest(row) for row in shown.newest],
        "hurts": [
            _person(hurt.pain.member)
            | {
                "areas": hurt.pain.areas,
                "words": hurt.pain.words,
                "advice": list(hurt.advice),
                "result": hurt.result_id,
            }
            for hurt in shown.hurts
        ],
        "questions": [_question(question) for question in shown.questions],
        "requests_waiting": [told.request(row) for row in shown.waiting],
    }


def _newest(row: Row) -> dict[str, Any]:
    fact = row.score.fact
    return _person(row.score.result.member) | {
        "result": row.score.result_id,
        "fact": fact.pk,
        "rank": row.rank,
        "mark": fact.mark,
        "options": row.options,
        "adjusted": row.score.adjusted_text,
        "effort": fact.effort,
        "at": fact.created_at,
    }


def _question(question: Question) -> dict[str, Any]:
    return _person(question.result.member) | {
        "fact": question.fact.pk,
        "kind": question.kind,
        "reason": question.reason,
        "result": question.result.pk,
        "mark": question.fact.mark,
    }


def _line(line: LineDone) -> dict[str, Any]:
    read: LineRead = line.read
    reading, data = read.reading, read.data
    before = read.before.current if read.before and read.asks_correction else None
    return {
        "kept": line.done is not None,
        "replayed": line.done is not None and line.done.replayed,
        "member": _person(read.member) if read.member else None,
        "candidates": [_person(member) for member in read.candidates],
        "mark": reading.mark,
        "options": reading.options,
        "splits": reading.splits,
        "effort": data.effort if data else reading.effort,
        "note": reading.note,
        "adjusted": read.score.adjusted.text if read.score else None,
        "doubts": [
            {"part": doubt.text, "words": doubt.words, "choices": list(doubt.choices)}
            for doubt in reading.doubts
        ],
        "corrects": before.mark if before is not None and line.done is None else None,
        "result": line.done.result.pk if line.done else None,
        "fact": line.done.fact.pk if line.done else None,
    }
