"""Asking for a change after a class is closed, and answering."""

from __future__ import annotations

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, Asked, CoachView, MemberView, page_of, paged
from scoring import enqueue
from scoring.selectors.requests import request_for, requests_of
from scoring.services.requests import answer_request, ask_for_change

from . import shapes, told
from .classes import class_or_404
from .reading import result_input


class Requests(MemberView):
    """Changes asked for in a class."""

    throttle_scope = "submit"

    @extend_schema(
        operation_id="class_requests",
        parameters=[Asked],
        responses=page_of(shapes.RequestShape),
    )
    def get(self, request: Request, pk: int) -> Response:
        """What was asked of the coach and answered: one's own, for coaches everybody's."""
        found = requests_of(streamed_class=class_or_404(self.viewer, pk), viewer=self.viewer)
        return paged(
            self,
            found,
            lambda rows: shapes.RequestShape([told.request(r) for r in rows], many=True).data,
        )

    @extend_schema(
        operation_id="class_ask",
        request=shapes.RequestIn,
        responses={201: shapes.RequestShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Ask for a change of one's own result in a closed class. Asked again while it
        waits, it takes the place of the one before."""
        streamed = class_or_404(self.viewer, pk)
        sent = self.read(shapes.RequestIn)
        asked = ask_for_change(
            streamed_class=streamed,
            member=self.viewer,
            data=result_input(sent),
            words=sent["words"],
            now=timezone.now(),
        )
        return Response(shapes.RequestShape(told.request(asked)).data, status=201)


class Answer(CoachView):
    """Answering one."""

    @extend_schema(
        operation_id="request_answer",
        request=shapes.AnswerIn,
        responses={200: shapes.RequestShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Accept, which logs what is asked for, or decline with a word. Once."""
        found = request_for(viewer=self.viewer, pk=pk)
        if found is None:
            raise Http404
        sent = self.read(shapes.AnswerIn)
        done = answer_request(
            request=found,
            by=self.viewer,
            accept=sent["accept"],
            words=sent["words"],
            now=timezone.now(),
        )
        enqueue.request_answered(request_id=done.pk)
        return Response(shapes.RequestShape(told.request(done)).data)
