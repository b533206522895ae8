"""How far a group should get in a workout that nobody has done yet."""

from __future__ import annotations

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, CoachView
from scoring.problems import Item, Refused
from scoring.selectors.forecast_record import beside, forecast_record, none_kept
from scoring.selectors.forecasts import foretold
from scoring.selectors.groups import Wanted, Who
from scoring.services.workouts import preview

from . import shapes_forecast, told_forecast
from .classes import managed_or_404


class Forecast(CoachView):
    """A text's forecast."""

    throttle_scope = "preview"

    @extend_schema(
        operation_id="workout_forecast",
        request=shapes_forecast.ForecastIn,
        responses={200: shapes_forecast.ForecastAnswerShape, **REFUSED},
    )
    def post(self, request: Request) -> Response:
        """How far who usually comes, everybody or some members should get, with the options
        they usually take, by the cap or another one; and the cap for a share. Nothing is kept.
        422 for members who don't belong to the gym."""
        sent = self.read(shapes_forecast.ForecastIn)
        seen = preview(text=sent["text"])
        if seen.workout is None:
            raise Refused(
                *[Item("text", p.problem, p.suggestion, line=p.line) for p in seen.problems]
            )
        found = foretold(
            viewer=self.viewer,
            workout=seen.workout,
            starts_at=sent["starts_at"] or timezone.now(),
            cap=sent["cap_seconds"],
            share=sent["share"],
            wanted=_wanted(sent),
        )
        assert found is not None  # coaches only
        data = {
            "forecast": told_forecast.group_forecast(found.forecast),
            "reason": found.reason,
        }
        return Response(shapes_forecast.ForecastAnswerShape(data).data)


def _wanted(sent: dict[str, Any]) -> Wanted:
    if sent["members"] is not None:
        return Wanted(Who.PICKED, tuple(sent["members"]))
    return Wanted(Who(sent["group"]))


class OfClass(CoachView):
    """The forecast of a class."""

    @extend_schema(operation_id="class_forecast", responses=shapes_forecast.ClassForecastShape)
    def get(self, request: Request, pk: int) -> Response:
        """The forecast kept before anybody logged, beside what those who logged did."""
        streamed = managed_or_404(self.viewer, pk)
        found = beside(streamed_class=streamed, viewer=self.viewer)
        data = {
            "forecast": told_forecast.beside(found) if found else None,
            "reason": "" if found else none_kept(streamed),
        }
        return Response(shapes_forecast.ClassForecastShape(data).data)


class Record(CoachView):
    """The running record."""

    @extend_schema(operation_id="forecast_record", responses=shapes_forecast.RecordShape)
    def get(self, request: Request) -> Response:
        """How honest the gym's forecasts have been, over its last closed classes."""
        found = forecast_record(viewer=self.viewer)
        assert found is not None  # coaches only
        return Response(shapes_forecast.RecordShape(told_forecast.record(found)).data)
