"""Who I am, who else is in the gym, how they get in, and tokens for devices."""

from __future__ import annotations

from typing import TypeVar

from django.db import transaction
from django.db.models import Model, QuerySet
from django.http import Http404
from django.urls import reverse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.authentication import SessionAuthentication
from rest_framework.permissions import IsAuthenticated
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from members import devices, selectors, services
from members.models import Invitation, Membership

from . import shapes
from .base import REFUSED, Asked, CoachView, MemberView, page_of, paged

T = TypeVar("T", bound=Model)


def _me(request: Request, viewer: Membership) -> Response:
    told = {
        "email": request.user.email,  # type: ignore[union-attr]
        "membership": viewer,
        "memberships": selectors.memberships(request.user),  # type: ignore[arg-type]
    }
    return Response(shapes.MeShape(told).data)


class Me(MemberView):
    """The caller."""

    @extend_schema(operation_id="me", responses=shapes.MeShape)
    def get(self, request: Request) -> Response:
        """Who I am here."""
        return _me(request, self.viewer)

    @extend_schema(
        operation_id="me_change",
        request=shapes.ProfileIn,
        responses={200: shapes.MeShape, **REFUSED},
    )
    def patch(self, request: Request) -> Response:
        """Change my name, how other members see me on a board, or my time zone."""
        sent = self.read(shapes.ProfileIn)
        services.change_profile(
            membership=self.viewer,
            display_name=sent.get("display_name", self.viewer.display_name),
            shown_as=sent.get("shown_as", self.viewer.shown_as),
            timezone=sent.get("timezone"),
        )
        return _me(request, self.viewer)


class Members(CoachView):
    """Everybody in the gym."""

    @extend_schema(
        operation_id="members", parameters=[Asked], responses=page_of(shapes.MemberShape)
    )
    def get(self, request: Request) -> Response:
        """Everybody in the gym, by name."""
        found = selectors.members_of(self.viewer.gym)
        return paged(self, found, lambda rows: shapes.MemberShape(rows, many=True).data)

    @extend_schema(
        operation_id="member_add",
        request=shapes.MemberIn,
        responses={201: shapes.MemberShape, **REFUSED},
    )
    def post(self, request: Request) -> Response:
        """Enter somebody without an account; a link lets them take the entry over."""
        sent = self.read(shapes.MemberIn)
        added = services.add_member(
            by=self.viewer, display_name=sent["display_name"], now=timezone.now()
        )
        return Response(shapes.MemberShape(added).data, status=201)


class Member(CoachView):
    """One member's role."""

    @extend_schema(
        operation_id="member_role",
        request=shapes.RoleIn,
        responses={200: shapes.MemberShape, **REFUSED},
    )
    def patch(self, request: Request, pk: int) -> Response:
        """Make somebody member, coach or owner, or keep rights back from a coach (owners
        only)."""
        found = _or_404(selectors.members_of(self.viewer.gym).filter(pk=pk))
        sent, now = self.read(shapes.RoleIn), timezone.now()
        with transaction.atomic():
            if "role" in sent:
                found = services.change_role(
                    membership=found, by=self.viewer, role=sent["role"], now=now
                )
            if "withheld" in sent:
                found = services.withhold_rights(
                    membership=found, by=self.viewer, withheld=sent["withheld"], now=now
                )
        return Response(shapes.MemberShape(found).data)


class Invitations(CoachView):
    """Links that let somebody in."""

    throttle_scope = "invite"

    @extend_schema(
        operation_id="invitations", parameters=[Asked], responses=page_of(shapes.InvitationShape)
    )
    def get(self, request: Request) -> Response:
        """Links that still let somebody in, the newest first."""
        found = selectors.open_invitations(self.viewer.gym, now=timezone.now())
        return paged(
            self,
            found.order_by("-created_at", "-pk"),
            lambda rows: shapes.InvitationShape(rows, many=True).data,
        )

    @extend_schema(
        operation_id="invitation_make",
        request=shapes.InvitationIn,
        responses={201: shapes.NewInvitationShape, **REFUSED},
    )
    def post(self, request: Request) -> Response:
        """Make a link. With ``member`` its holder takes that entry over."""
        sent = self.read(shapes.InvitationIn)
        entry = None
        if sent.get("member") is not None:
            entry = _or_404(selectors.members_of(self.viewer.gym).filter(pk=sent["member"]))
        made = services.invite(
            by=self.viewer,
            now=timezone.now(),
            role=sent["role"],
            membership=entry,
            max_uses=sent["max_uses"],
            days=sent["days"],
        )
        address = request.build_absolute_uri(reverse("join", args=[made.token]))
        told = shapes.InvitationShape(made.invitation).data | {"address": address}
        return Response(told, status=201)


class InvitationOne(CoachView):
    """One link."""

    @extend_schema(operation_id="invitation_revoke", responses={204: None, **REFUSED})
    def delete(self, request: Request, pk: int) -> Response:
        """Make a link useless; doing it twice is fine."""
        found = _or_404(Invitation.objects.filter(gym=self.viewer.gym, pk=pk))
        services.revoke(invitation=found, by=self.viewer, now=timezone.now())
        return Response(status=204)


class Tokens(APIView):
    """Tokens of one's own devices.

    Only somebody signed in by a page makes them, so that a stolen token makes no others.
    """

    authentication_classes = (SessionAuthentication,)
    permission_classes = (IsAuthenticated,)
    throttle_scope = "token"

    @extend_schema(operation_id="tokens", parameters=[Asked], responses=page_of(shapes.TokenShape))
    def get(self, request: Request) -> Response:
        """My tokens, the newest first."""
        found = devices.tokens_of(request.user)  # type: ignore[arg-type]
        return paged(self, found, lambda rows: shapes.TokenShape(rows, many=True).data)

    @extend_schema(operation_id="token_make", request=None, responses={201: shapes.NewTokenShape})
    def post(self, request: Request) -> Response:
        """Make a token for a device: send it as ``Authorization: Token ...``."""
        made = devices.make_token(user=request.user)  # type: ignore[arg-type]
        told = shapes.TokenShape(made.row).data | {"token": made.token}
        return Response(told, status=201)


class TokenOne(APIView):
    """One token; a device may give up its own."""

    @extend_schema(operation_id="token_revoke", responses={204: None})
    def delete(self, request: Request, key: str) -> Response:
        """Make a token useless."""
        if not devices.revoke_token(user=request.user, key=key):  # type: ignore[arg-type]
            raise Http404
        return Response(status=204)


def _or_404(found: QuerySet[T]) -> T:
    first = found.first()
    if first is None:
        raise Http404
    return first
