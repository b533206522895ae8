"""Which messages I want, by the API."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, MemberView
from scoring.models import MessageKind
from scoring.selectors.messages import has_proven_address, message_settings_for
from scoring.services.messages import save_message_settings

from . import shapes_messages as shapes


class MyMessages(MemberView):
    """What I am told by e-mail."""

    def _told(self) -> Response:
        row = message_settings_for(member=self.viewer, viewer=self.viewer)
        assert row is not None  # one's own
        told = {
            "kinds": {kind.value: row.wants(kind) for kind in MessageKind},
            "quiet_from": f"{row.quiet_from:%H:%M}",
            "quiet_until": f"{row.quiet_until:%H:%M}",
            "has_proven_address": has_proven_address(member=self.viewer),
        }
        return Response(shapes.MessagesShape(told).data)

    @extend_schema(operation_id="me_messages", responses=shapes.MessagesShape)
    def get(self, request: Request) -> Response:
        """Which messages I want, and my quiet hours."""
        return self._told()

    @extend_schema(
        operation_id="me_messages_keep",
        request=shapes.MessagesIn,
        responses={200: shapes.MessagesShape, **REFUSED},
    )
    def put(self, request: Request) -> Response:
        """Keep which messages I want, and my quiet hours, whole."""
        sent = self.read(shapes.MessagesIn)
        # A program that doesn't know this switch leaves it as it is.
        row = message_settings_for(member=self.viewer, viewer=self.viewer)
        sent["kinds"].setdefault("closed", row is not None and row.closed)
        save_message_settings(
            member=self.viewer,
            kinds=[kind for kind, is_on in sent.pop("kinds").items() if is_on],
            **sent,
        )
        return self._told()
