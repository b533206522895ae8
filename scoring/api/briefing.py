"""What to read before a class, as JSON: the workout in parts, and pacing hints."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import MemberView
from scoring.core.pacing import hints, plan_text, plans
from scoring.mapping import course_of, prescription
from scoring.selectors.briefing import STOP, gear, parts, standards

from . import shapes
from .classes import class_or_404


class HintShape(serializers.Serializer[Any]):
    """How to break up a big set: common practice, no source."""

    block = serializers.IntegerField()
    movement = serializers.CharField()
    count = serializers.IntegerField(help_text="For each side, if per_side.")
    per_side = serializers.BooleanField()
    parts = serializers.ListField(child=serializers.IntegerField())


class PlanShape(serializers.Serializer[Any]):
    """A block's rough times in seconds, by the catalogue's usual seconds a rep."""

    block = serializers.IntegerField()
    work = serializers.IntegerField(help_text="Of a round of an AMRAP, or of one interval.")
    starts = serializers.IntegerField()
    ends = serializers.IntegerField()
    text = serializers.CharField()


class BriefingShape(serializers.Serializer[Any]):
    """What to read before a class."""

    warm_up = serializers.CharField()
    workout = serializers.CharField()
    cool_down = serializers.CharField()
    gear = serializers.ListField(child=serializers.CharField())
    standards = shapes.StandardShape(many=True)
    caution = serializers.CharField()
    hints = HintShape(many=True)
    plans = PlanShape(many=True)


class Briefing(MemberView):
    """A class before it begins."""

    @extend_schema(operation_id="class_briefing", responses=BriefingShape)
    def get(self, request: Request, pk: int) -> Response:
        """The workout in parts, standards, gear, cautions and a plan to start from.

        Options with their credits, and my own version, are told by ``mine/``.
        """
        streamed = class_or_404(self.viewer, pk)
        workout = prescription(streamed.workout.text)
        written, listed = parts(workout), standards(workout)
        told = {
            "warm_up": written.warm_up,
            "workout": written.workout,
            "cool_down": written.cool_down,
            "gear": gear(listed),
            "standards": listed,
            "caution": STOP,
            "hints": hints(course_of(streamed)),
            "plans": [
                {
                    "block": plan.block,
                    "work": plan.work,
                    "starts": plan.starts,
                    "ends": plan.ends,
                    "text": plan_text(plan),
                }
                for plan in plans(workout)
            ],
        }
        return Response(BriefingShape(told).data)
