"""Classes: make, change, open, close, and what a mark would score in one."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import Http404, HttpResponseBase
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import (
    REFUSED,
    Asked,
    CoachView,
    MemberView,
    PreconditionFailed,
    page_of,
    paged,
)
from members.models import Membership
from scoring import access, enqueue
from scoring.models import StreamedClass
from scoring.problems import Refused, refuse
from scoring.selectors.classes import class_alone, class_for, classes_for, logged_and_missing
from scoring.selectors.workouts import workout_for
from scoring.services.classes import (
    change_draft,
    close_class,
    create_class,
    open_class,
    reopen_class,
)
from scoring.services.submitting import try_score

from . import shapes, told
from .conditional import demand_match, tag_of, tagged, unchanged
from .reading import result_input

STALE = {412: OpenApiResponse(description="If-Match names another version.")}
IF_MATCH = OpenApiParameter(
    "If-Match", str, OpenApiParameter.HEADER, description="The ETag the change is based on."
)
IF_NONE_MATCH = OpenApiParameter(
    "If-None-Match", str, OpenApiParameter.HEADER, description="The ETag had already."
)
UNCHANGED = {304: OpenApiResponse(description="Unchanged since that ETag.")}


def class_or_404(viewer: Membership, pk: int) -> StreamedClass:
    """A class the viewer may see."""
    found = class_for(viewer=viewer, pk=pk)
    if found is None:
        raise Http404
    return found


def class_alone_or_404(viewer: Membership, pk: int) -> StreamedClass:
    """The same with its workout and nothing else, for what is asked for most often."""
    found = class_alone(viewer=viewer, pk=pk)
    if found is None:
        raise Http404
    return found


def managed_or_404(viewer: Membership, pk: int) -> StreamedClass:
    """A class the viewer coaches."""
    found = class_or_404(viewer, pk)
    if not access.may_manage(viewer, found):
        raise Http404
    return found


def _detail(pk: int, viewer: Membership, status: int = 200) -> Response:
    data = shapes.ClassDetail(told.streamed_class(class_or_404(viewer, pk), viewer)).data
    return tagged(Response(data, status=status), tag_of(data))


class Classes(MemberView):
    """Classes of the gym."""

    @extend_schema(
        operation_id="classes",
        parameters=[shapes.StateAsked, Asked],
        responses=page_of(shapes.ClassShape),
    )
    def get(self, request: Request) -> Response:
        """Classes, the newest first; drafts are for coaches."""
        asked = shapes.StateAsked(data=request.query_params)
        asked.is_valid(raise_exception=True)
        found = classes_for(viewer=self.viewer, state=asked.validated_data.get("state"))
        return paged(
            self,
            found,
            lambda rows: shapes.ClassShape([told.listed_class(r) for r in rows], many=True).data,
        )

    @extend_schema(
        operation_id="class_make",
        request=shapes.ClassIn,
        responses={201: shapes.ClassDetail, **REFUSED},
    )
    def post(self, request: Request) -> Response:
        """Make a draft (coaches), from a text or from a workout kept before."""
        self.demand_coach()
        sent = self.read(shapes.ClassIn)
        if "workout" in sent:
            sent["workout"] = workout_for(viewer=self.viewer, pk=sent["workout"])
            if sent["workout"] is None:
                raise refuse("workout", "There is no such workout.", "List /api/v1/workouts/.")
        made = create_class(gym=self.viewer.gym, coach=self.viewer, **sent)
        return _detail(made.pk, self.viewer, status=201)


class Class(MemberView):
    """One class."""

    @extend_schema(
        operation_id="class",
        parameters=[IF_NONE_MATCH],
        responses={200: shapes.ClassDetail, **UNCHANGED, **STALE},
    )
    def get(self, request: Request, pk: int) -> HttpResponseBase:
        """A class with its course, movement standards, gear, options and credits."""
        answer = _detail(pk, self.viewer)
        return unchanged(request, answer["ETag"]) or answer

    @extend_schema(
        operation_id="class_change",
        parameters=[IF_MATCH],
        request=shapes.ClassChange,
        responses={200: shapes.ClassDetail, **REFUSED, **STALE},
    )
    def patch(self, request: Request, pk: int) -> Response:
        """Change a draft (coaches). With ``If-Match`` only the version that was read."""
        self.demand_coach()
        streamed = managed_or_404(self.viewer, pk)
        has_match = demand_match(request, _detail(pk, self.viewer)["ETag"])
        sent = self.read(shapes.ClassChange)
        sent.setdefault("tie_break_block", streamed.tie_break_block)
        try:
            change_draft(
                streamed_class=streamed,
                by=self.viewer,
                expected_version=streamed.board_version if has_match else None,
                **sent,
            )
        except Refused:
            now = class_or_404(self.viewer, pk)
            if has_match and now.board_version != streamed.board_version:
                raise PreconditionFailed from None
            raise
        return _detail(pk, self.viewer)


class _Change(CoachView):
    """A change of state; asking for it twice is fine."""

    change: Callable[..., StreamedClass]

    def _done(self, pk: int) -> Response:
        change: Any = type(self).change
        change(streamed_class=managed_or_404(self.viewer, pk), by=self.viewer, now=timezone.now())
        return _detail(pk, self.viewer)


class Open(_Change):
    change = staticmethod(open_class)

    @extend_schema(
        operation_id="class_open", request=None, responses={200: shapes.ClassDetail, **REFUSED}
    )
    def post(self, request: Request, pk: int) -> Response:
        """Let members see the class and log."""
        answer = self._done(pk)
        enqueue.class_opened(class_id=pk)
        enqueue.forecast_class(class_id=pk)
        return answer


class Close(_Change):
    change = staticmethod(close_class)

    @extend_schema(
        operation_id="class_close", request=None, responses={200: shapes.ClassDetail, **REFUSED}
    )
    def post(self, request: Request, pk: int) -> Response:
        """End logging; coaches can still correct."""
        answer = self._done(pk)
        enqueue.class_closed(class_id=pk)
        enqueue.forecast_class(class_id=pk)
        enqueue.estimate(gym_id=self.viewer.gym_id)
        return answer


class Reopen(_Change):
    change = staticmethod(reopen_class)

    @extend_schema(
        operation_id="class_reopen", request=None, responses={200: shapes.ClassDetail, **REFUSED}
    )
    def post(self, request: Request, pk: int) -> Response:
        """Let members log again."""
        return self._done(pk)


class Attendance(CoachView):
    """Who logged and who didn't."""

    @extend_schema(operation_id="class_attendance", responses=shapes.AttendanceShape)
    def get(self, request: Request, pk: int) -> Response:
        """Who logged, and who of the gym's members didn't."""
        there = logged_and_missing(
            streamed_class=managed_or_404(self.viewer, pk), viewer=self.viewer
        )
        assert there is not None  # asked of somebody who manages the class
        return Response(shapes.AttendanceShape(told.attendance(there)).data)


class Try(MemberView):
    """A score that is kept nowhere."""

    throttle_scope = "preview"

    @extend_schema(
        operation_id="class_try",
        request=shapes.ResultIn,
        responses={200: shapes.TriedShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """What a mark would score in this class."""
        streamed = class_or_404(self.viewer, pk)
        data = result_input(self.read(shapes.ResultIn))
        scored, opened = try_score(streamed_class=streamed, data=data)
        return Response(shapes.TriedShape(told.tried(scored, opened)).data)
