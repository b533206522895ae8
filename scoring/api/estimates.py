"""What results have taught, and making it anew."""

from __future__ import annotations

from typing import Any

from django.urls import reverse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, CoachView
from scoring import enqueue
from scoring.models import EstimateRun
from scoring.selectors.estimates import Held, held
from scoring.selectors.taught import Cost, costs, in_words, last_run
from scoring.services.estimate_runs import ask

from . import rounding
from . import shapes_estimates as shapes


def _way(cost: Cost) -> dict[str, Any]:
    return {
        "movement": cost.way.movement,
        "option": cost.way.option,
        "load": cost.way.load,
        "unit": cost.way.unit,
        "seconds": rounding.seconds(cost.seconds),
        "seconds_low": rounding.seconds(cost.low),
        "seconds_high": rounding.seconds(cost.high),
        "seconds_before": rounding.seconds(cost.before),
        "results": cost.used,
        "is_from_few": cost.is_from_few,
    }


def _run(run: EstimateRun) -> dict[str, Any]:
    return {
        "state": run.state,
        "told": in_words(run).told,
        "asked_at": run.asked_at,
        "asked_by": run.by.display_name if run.by else "",
        "done": run.done,
        "total": run.total,
        "finished_at": run.finished_at,
    }


def _told(found: Held, run: EstimateRun | None) -> dict[str, Any]:
    spreads = found.estimate.spreads
    return dict(
        shapes.EstimateShape(
            {
                "id": found.pk,
                "is_prior": found.is_prior,
                "made_at": found.made_at,
                "until": found.until,
                "results": found.results,
                "members": found.members,
                "classes": found.classes,
                "left_out": found.left_out,
                "converged": found.converged,
                "convergence": found.convergence,
                "spreads": {
                    "noise": rounding.spread(spreads.noise),
                    "level": rounding.spread(spreads.level),
                    "drift_a_day": rounding.spread(spreads.drift),
                    "classes": rounding.spread(spreads.classes),
                    "fade": rounding.spread(spreads.fade),
                },
                "ways": [_way(cost) for cost in costs(found)],
                "run": None if run is None else _run(run),
            }
        ).data
    )


class Estimate(CoachView):
    """What results have taught."""

    @extend_schema(operation_id="estimate", responses=shapes.EstimateShape)
    def get(self, request: Request) -> Response:
        """The last good estimate: from how many results, until when, and what it says.

        `run` tells how far the newest one is; while it goes on, the last good one stays.
        """
        gym_id = self.viewer.gym_id
        return Response(_told(held(gym_id=gym_id), last_run(gym_id=gym_id)))


class EstimateRefresh(CoachView):
    """Making it anew."""

    @extend_schema(
        operation_id="estimate_refresh",
        request=None,
        responses={202: shapes.EstimateRunShape, **REFUSED},
    )
    def post(self, request: Request) -> Response:
        """Ask for an estimate of all that is known now. Asked twice it is one; read its `run`
        to see how far it is. Where nothing is new, no new one is made."""
        run = ask(gym=self.viewer.gym, by=self.viewer, now=timezone.now())
        enqueue.estimate(gym_id=self.viewer.gym_id)
        told = shapes.EstimateRunShape(_run(run)).data
        return Response(told, status=202, headers={"Location": reverse("api-estimate")})
