"""What an owner sets for the gym; one's own body; leaving."""

from __future__ import annotations

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import exceptions
from rest_framework.permissions import IsAuthenticated
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from members.bodies import body_of, save_body
from members.gyms import change_gym
from members.leaving import leave_gym
from members.sessions import sign_out_everywhere

from . import shapes_own as shapes
from .base import REFUSED, MemberView


class GymSettings(MemberView):
    """The gym's settings, for its owners."""

    def demand_owner(self) -> None:
        if not self.viewer.is_owner:
            raise exceptions.PermissionDenied("Only owners of the gym do this.")

    @extend_schema(operation_id="gym", responses=shapes.GymSettingsShape)
    def get(self, request: Request) -> Response:
        """What is set for my gym (owners only)."""
        self.demand_owner()
        return Response(shapes.GymSettingsShape(self.viewer.gym).data)

    @extend_schema(
        operation_id="gym_change",
        request=shapes.GymSettingsIn,
        responses={200: shapes.GymSettingsShape, **REFUSED},
    )
    def patch(self, request: Request) -> Response:
        """Change how who joins is shown on boards (owners only)."""
        self.demand_owner()
        sent = self.read(shapes.GymSettingsIn)
        gym = change_gym(by=self.viewer, shown_as_default=sent["shown_as_default"])
        return Response(shapes.GymSettingsShape(gym).data)


class MyBody(MemberView):
    """My year of birth and body weight, for myself alone."""

    @extend_schema(operation_id="me_body", responses=shapes.BodyShape)
    def get(self, request: Request) -> Response:
        """What I told of my body; nobody else can ask."""
        return Response(shapes.BodyShape(body_of(member=self.viewer, viewer=self.viewer)).data)

    @extend_schema(
        operation_id="me_body_keep",
        request=shapes.BodyIn,
        responses={200: shapes.BodyShape, **REFUSED},
    )
    def put(self, request: Request) -> Response:
        """Keep it whole: what is left out or null is taken back."""
        sent = self.read(shapes.BodyIn)
        told = save_body(
            membership=self.viewer,
            year_of_birth=_text(sent["year_of_birth"]),
            weight=_text(sent["weight_kg"]),
            this_year=timezone.localdate().year,
        )
        return Response(shapes.BodyShape(told).data)


class Leave(MemberView):
    """Leaving the gym."""

    @extend_schema(operation_id="me_leave", request=None, responses={204: None, **REFUSED})
    def post(self, request: Request) -> Response:
        """Leave the gym of this call. My results stay on its boards; an invitation leads back."""
        leave_gym(membership=self.viewer, now=timezone.now())
        return Response(status=204)


class SignOutEverywhere(APIView):
    """Every way in but the address's mail and passkeys, closed."""

    permission_classes = (IsAuthenticated,)

    @extend_schema(operation_id="me_sign_out_everywhere", request=None, responses={204: None})
    def post(self, request: Request) -> Response:
        """End all my sessions and tokens, this call's among them."""
        sign_out_everywhere(user=request.user)  # type: ignore[arg-type]
        return Response(status=204)


def _text(value: object) -> str:
    return "" if value is None else str(value)
