"""Results: log once however often it is sent, open up, correct, withdraw, look back."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from django.urls import reverse
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import exceptions
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, Asked, MemberView, page_of, paged
from members.models import Membership
from members.selectors import members_of
from scoring import enqueue, metrics
from scoring.models import Result
from scoring.problems import Refused, refuse
from scoring.selectors.levels import level_of
from scoring.selectors.rank_ranges import likely_rank
from scoring.selectors.requests import pain_of
from scoring.selectors.results import breakdown_for, history, result_for
from scoring.services.correcting import correct_result, withdraw_result
from scoring.services.submitting import MAX_KEY, PainInput, Submitted, submit_result

from . import shapes, told
from .classes import class_alone_or_404
from .reading import result_input

KEY = OpenApiParameter(
    "Idempotency-Key",
    str,
    OpenApiParameter.HEADER,
    required=True,
    description="A text of yours, new for each result and the same when it is sent again.",
)
NO_KEY = (
    "Send an Idempotency-Key header: any text of at most 255 ASCII letters, new for each result "
    "and the same when you send it again. So a repeated send is one result."
)


def key_sent(request: Request) -> str:
    """The key sent, with or without the quotes of a structured string (RFC 8941)."""
    key = request.headers.get("Idempotency-Key", "").strip()
    if len(key) > 1 and key[0] == key[-1] == '"':
        key = key[1:-1]
    if not key or len(key) > MAX_KEY or not (key.isascii() and key.isprintable()):
        raise exceptions.ParseError(NO_KEY)
    return key


def _pain(sent: dict[str, Any] | None) -> PainInput | None:
    return PainInput(tuple(sent["areas"]), sent["words"]) if sent is not None else None


def _opened(viewer: Membership, pk: int, *, is_read: bool = False) -> dict[str, object]:
    found = result_for(viewer=viewer, pk=pk)
    if found is None:
        raise Http404
    return _told(viewer, found, is_read=is_read)


def _told(
    viewer: Membership, found: Result, *, is_read: bool = False, logged: Submitted | None = None
) -> dict[str, object]:
    """A result as it is told: passing it through its shape again would take as long as
    opening it. What was ``logged`` just now needn't be read again."""
    is_new = logged is not None and logged.created
    opened = breakdown_for(result=found, viewer=viewer, is_new=is_new)
    if opened is None:
        raise Http404
    pain = None
    if logged is None or logged.hurts is not False:
        pain = pain_of(streamed_class=found.streamed_class, member=found.member, viewer=viewer)
    # Who writes needn't wait for the whole board to be counted in many ways.
    likely = likely_rank(result=found, rank=opened.rank, viewer=viewer) if is_read else None
    return told.result(opened, pain, likely)


def _found(viewer: Membership, pk: int) -> Result:
    found = result_for(viewer=viewer, pk=pk)
    if found is None:
        raise Http404
    return found


class Results(MemberView):
    """Logging in a class."""

    throttle_scope = "submit"

    @extend_schema(
        operation_id="result_log",
        parameters=[KEY],
        request=shapes.ResultSent,
        responses={201: shapes.LoggedShape, 200: shapes.LoggedShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Log what I did; a coach may name another ``member``.

        201 for a first result, 200 for one sent before and for a correction of it. A key
        that came with something else before is a 422, a class that is not open a 409. Keys
        are kept for good, for each class and member.
        """
        streamed = class_alone_or_404(self.viewer, pk)
        key = key_sent(request)
        sent = self.read(shapes.ResultSent)
        try:
            done = submit_result(
                streamed_class=streamed,
                member=self._member(sent.get("member")),
                entered_by=self.viewer,
                data=result_input(sent),
                key=key,
                now=timezone.now(),
                reason=sent["reason"],
                pain=_pain(sent.get("hurts")),
            )
        except Refused as refused:
            if refused.items[0].column == "key":
                # 422 for a key that came with something else: the IETF's draft of the header.
                raise Refused(*refused.items) from None
            raise
        is_own = done.fact.entered_by_id == done.result.member_id
        metrics.result_sent("program" if is_own else "coach", done)
        if not is_own:
            enqueue.result_corrected(fact_id=done.fact.pk)
        # What was written is at hand, unless it is an old answer told again.
        opened = (
            _opened(self.viewer, done.result.pk)
            if done.replayed
            else _told(self.viewer, done.result, logged=done)
        )
        answer = opened | {
            "created": done.created,
            "replayed": done.replayed,
        }
        is_new = done.created and not done.replayed
        where = reverse("api-result", args=[done.result.pk])
        return Response(answer, status=201 if is_new else 200, headers={"Location": where})

    def _member(self, pk: int | None) -> Membership:
        if pk is None or pk == self.viewer.pk:
            return self.viewer
        if not self.viewer.is_coach:
            raise refuse(
                "member", "You can only log for yourself.", "Leave member out.", "forbidden"
            )
        found = members_of(self.viewer.gym).filter(pk=pk).first()
        if found is None:
            raise refuse("member", "Your gym has no such member.", "List /api/v1/members/.")
        return found


class ResultOne(MemberView):
    """One result."""

    @extend_schema(operation_id="result", responses=shapes.ResultShape)
    def get(self, request: Request, pk: int) -> Response:
        """A result opened up: every set with what it counts and why."""
        return Response(_opened(self.viewer, pk, is_read=True))


class Corrections(MemberView):
    """Correcting a result."""

    throttle_scope = "submit"

    @extend_schema(
        operation_id="result_correct",
        request=shapes.CorrectionIn,
        responses={201: shapes.ResultShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Correct somebody's result with a reason (coaches); what was there stays on record."""
        self.demand_coach()
        found = _found(self.viewer, pk)
        sent = self.read(shapes.CorrectionIn)
        fact = correct_result(
            result=found,
            by=self.viewer,
            data=result_input(sent),
            reason=sent["reason"],
            now=timezone.now(),
        )
        enqueue.result_corrected(fact_id=fact.pk)
        return Response(_opened(self.viewer, pk), status=201)


class Withdrawal(MemberView):
    """Taking a result off the board."""

    throttle_scope = "submit"

    @extend_schema(
        operation_id="result_withdraw",
        request=shapes.ReasonIn,
        responses={200: shapes.ResultShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Take a result off the board; it stays on record. One's own while the class is
        open, coaches any with a reason."""
        found = _found(self.viewer, pk)
        fact = withdraw_result(
            result=found,
            by=self.viewer,
            reason=self.read(shapes.ReasonIn)["reason"],
            now=timezone.now(),
        )
        if fact.entered_by_id != found.member_id:
            enqueue.result_corrected(fact_id=fact.pk)
        return Response(_opened(self.viewer, pk))


class History(MemberView):
    """Looking back."""

    @extend_schema(
        operation_id="me_history", parameters=[Asked], responses=page_of(shapes.HistoryShape)
    )
    def get(self, request: Request) -> Response:
        """My results, the newest first, each repeat with what changed."""
        level = level_of(member=self.viewer, viewer=self.viewer, now=timezone.now())
        rows = history(member=self.viewer, viewer=self.viewer, level=level)
        return paged(
            self, rows, lambda page: shapes.HistoryShape(told.history(page), many=True).data
        )
