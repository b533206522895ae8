"""Planning: a week, copying it, a draft's day and end, a workout again, the link."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import Http404
from django.urls import reverse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, Asked, CoachView, page_of, paged
from scoring.core.iso_week import IsoWeek
from scoring.core.movements import Pattern
from scoring.core.patterns import Work
from scoring.models import State
from scoring.problems import refuse
from scoring.selectors import searching
from scoring.selectors.link import invitation_text
from scoring.selectors.plan import PlannedClass, copy_preview, week_plan
from scoring.selectors.workouts import workout_for
from scoring.services.planning import copy_week, delete_draft, move_draft, repeat_workout
from scoring.services.searching import index_workouts

from . import shapes, shapes_week, told
from .classes import class_or_404, managed_or_404


def _week(text: str, column: str = "week") -> IsoWeek:
    try:
        return IsoWeek.read(text)
    except ValueError as error:
        raise refuse(column, str(error), "Write it like 2026-W48.") from None


def _work(work: Mapping[Pattern, Work]) -> list[dict[str, Any]]:
    return [
        {"pattern": pattern.value, "seconds": each.seconds, "has_load": each.has_load}
        for pattern, each in work.items()
    ]


def _class(row: PlannedClass) -> dict[str, Any]:
    return told.listed_class(row.streamed) | {
        "local": f"{row.local:%Y-%m-%dT%H:%M}",
        "cap": row.cap,
        "work": _work(row.work),
    }


class Week(CoachView):
    """A week's plan."""

    @extend_schema(operation_id="week", responses={200: shapes_week.PlanWeekShape, **REFUSED})
    def get(self, request: Request, week: str) -> Response:
        """Seven days of the gym with their classes, drafts too, and what they ask of the body."""
        plan = week_plan(viewer=self.viewer, week=_week(week))
        data = {
            "week": str(plan.week),
            "timezone": plan.zone.key,
            "days": [
                {
                    "date": day.date,
                    "classes": [_class(row) for row in day.classes],
                    "work": _work(day.work),
                }
                for day in plan.days
            ],
            "runs": [
                {"pattern": run.pattern.value, "days": run.days, "has_load": run.has_load}
                for run in plan.runs
            ],
        }
        return Response(shapes_week.PlanWeekShape(data).data)


class WeekCopy(CoachView):
    """A week copied into another."""

    @extend_schema(
        operation_id="week_copy_preview",
        parameters=[shapes_week.CopyAsked],
        responses={200: shapes_week.CopyShape(many=True), **REFUSED},
    )
    def get(self, request: Request, week: str) -> Response:
        """What copying would make of each class; nothing is made."""
        asked = shapes_week.CopyAsked(data=request.query_params)
        asked.is_valid(raise_exception=True)
        target = _week(asked.validated_data["to"], "to")
        rows = copy_preview(viewer=self.viewer, source=_week(week), target=target)
        data = [
            {
                "class": streamed.pk,
                "title": streamed.workout.title,
                "starts_at": copy.starts_at,
                "standing": copy.standing.value,
                "there": copy.there.key if copy.there else None,
                "is_shifted": copy.is_shifted,
            }
            for streamed, copy in rows
        ]
        return Response(shapes_week.CopyShape(data, many=True).data)

    @extend_schema(
        operation_id="week_copy",
        request=shapes_week.CopyIn,
        responses={201: shapes_week.CopiedShape, **REFUSED},
    )
    def post(self, request: Request, week: str) -> Response:
        """Make drafts in another week. What stands there already is never made again."""
        sent = self.read(shapes_week.CopyIn)
        done = copy_week(
            by=self.viewer,
            source=_week(week),
            target=_week(sent["to"], "to"),
            chosen=sent.get("classes"),
            with_notes=sent["with_notes"],
            now=timezone.now(),
        )
        data = {"made": [row.pk for row in done.made], "there": done.there}
        return Response(shapes_week.CopiedShape(data).data, status=201)


class Draft(CoachView):
    """A class that is still a draft."""

    @extend_schema(
        operation_id="draft_move",
        request=shapes_week.StartIn,
        responses={200: shapes.ClassShape, **REFUSED},
    )
    def patch(self, request: Request, pk: int) -> Response:
        """Put a draft at another time; when it closes by itself moves with it."""
        streamed = managed_or_404(self.viewer, pk)
        starts_at = self.read(shapes_week.StartIn)["starts_at"]
        now = timezone.now()
        move_draft(streamed_class=streamed, by=self.viewer, starts_at=starts_at, now=now)
        return Response(shapes.ClassShape(told.listed_class(class_or_404(self.viewer, pk))).data)

    @extend_schema(operation_id="draft_delete", responses={204: None, **REFUSED})
    def delete(self, request: Request, pk: int) -> Response:
        """Delete a draft for good; its workout stays."""
        streamed = managed_or_404(self.viewer, pk)
        delete_draft(streamed_class=streamed, by=self.viewer, now=timezone.now())
        return Response(status=204)


class Search(CoachView):
    """Past workouts."""

    @extend_schema(
        operation_id="workout_search",
        parameters=[shapes_week.SearchAsked, Asked],
        responses=page_of(shapes_week.FoundShape),
    )
    def get(self, request: Request) -> Response:
        """Workouts that have all that is asked for, the last to run first, with how the last
        class of each went."""
        asked = shapes_week.SearchAsked(data=request.query_params)
        asked.is_valid(raise_exception=True)
        wanted = dict(asked.validated_data)
        if "pattern" in wanted:
            wanted["pattern"] = Pattern(wanted["pattern"])
        index_workouts(gym=self.viewer.gym)
        found = searching.search(
            viewer=self.viewer, asked=searching.Asked(**wanted), now=timezone.now()
        )
        return paged(self, found, self._told)

    def _told(self, rows: list[Any]) -> Any:
        how = searching.went(viewer=self.viewer, classes=[row.last_class for row in rows])
        data = [
            {
                "id": row.pk,
                "title": row.title,
                "text": row.text,
                "fingerprint": row.fingerprint,
                "cap_seconds": row.index.seconds,
                "times": row.times or 0,
                "last_ran": row.last_ran,
                "last_class": row.last_class,
                "went": how.get(row.last_class),
            }
            for row in rows
        ]
        return shapes_week.FoundShape(data, many=True).data


class Repeat(CoachView):
    """A workout again, to compare."""

    @extend_schema(
        operation_id="workout_repeat",
        request=shapes_week.StartIn,
        responses={201: shapes.ClassShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Make a draft of the same text, scored as its last class was."""
        workout = workout_for(viewer=self.viewer, pk=pk)
        if workout is None:
            raise Http404
        starts_at = self.read(shapes_week.StartIn)["starts_at"]
        made = repeat_workout(
            workout=workout, by=self.viewer, starts_at=starts_at, now=timezone.now()
        )
        data = told.listed_class(class_or_404(self.viewer, made.pk))
        return Response(shapes.ClassShape(data).data, status=201)


class Link(CoachView):
    """The link to brief members with."""

    @extend_schema(operation_id="class_link", responses=shapes_week.LinkShape)
    def get(self, request: Request, pk: int) -> Response:
        """The class's address, and a few words to send it with."""
        streamed = managed_or_404(self.viewer, pk)
        address = request.build_absolute_uri(reverse("class", args=[streamed.pk]))
        data = {
            "link": address,
            "words": invitation_text(streamed, address),
            "is_draft": streamed.state == State.DRAFT,
        }
        return Response(shapes_week.LinkShape(data).data)
