"""Workouts: try a text out, keep it, find it again."""

from __future__ import annotations

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, Asked, CoachView, MemberView, page_of, paged
from scoring.selectors.planning import planned
from scoring.selectors.workouts import workout_for, workouts_for
from scoring.services.workouts import preview, save_workout

from . import shapes, shapes_plan, told_plan


class Preview(CoachView):
    """A text before it is kept."""

    throttle_scope = "preview"

    @extend_schema(
        operation_id="workout_preview",
        request=shapes_plan.PreviewIn,
        responses=shapes_plan.PreviewShape,
    )
    def post(self, request: Request) -> Response:
        """Read a workout without keeping it: its course, or what can't be read and why; and
        what it asks of this group, with remarks and options to add."""
        sent = self.read(shapes_plan.PreviewIn)
        seen = preview(text=sent["text"], weighted=sent["weighted"])
        plan = None
        if seen.workout is not None:
            plan = planned(
                viewer=self.viewer,
                workout=seen.workout,
                starts_at=sent["starts_at"] or timezone.now(),
                above_one=sent["above_one"],
            )
        return Response(shapes_plan.PreviewShape(told_plan.preview(seen, plan)).data)


class Workouts(MemberView):
    """Workouts of the gym."""

    @extend_schema(
        operation_id="workouts", parameters=[Asked], responses=page_of(shapes.WorkoutShape)
    )
    def get(self, request: Request) -> Response:
        """Workouts, the newest first: all of the gym for coaches, for members those of
        classes they see."""
        found = workouts_for(viewer=self.viewer)
        return paged(self, found, lambda rows: shapes.WorkoutShape(rows, many=True).data)

    @extend_schema(
        operation_id="workout_keep",
        request=shapes.TextIn,
        responses={201: shapes.WorkoutShape, **REFUSED},
    )
    def post(self, request: Request) -> Response:
        """Keep a workout (coaches). The same text again is the same workout."""
        self.demand_coach()
        kept = save_workout(
            gym=self.viewer.gym, text=self.read(shapes.TextIn)["text"], author=self.viewer
        )
        return Response(shapes.WorkoutShape(kept).data, status=201)


class Workout(MemberView):
    """One workout."""

    @extend_schema(operation_id="workout", responses=shapes.WorkoutShape)
    def get(self, request: Request, pk: int) -> Response:
        """One workout as it is kept."""
        found = workout_for(viewer=self.viewer, pk=pk)
        if found is None:
            raise Http404
        return Response(shapes.WorkoutShape(found).data)
