"""The words drafts begin with, and when silence is told of, by the API."""

from __future__ import annotations

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED
from scoring.core.follow_up import Reason
from scoring.selectors.follow_up import all_words, silent_days_of
from scoring.services.follow_up_words import restore_words, save_silent_days, save_words

from . import shapes_follow_up as shapes
from . import told_follow_up as told
from .follow_up import FollowUpView


class AllWords(FollowUpView):
    """The words of all reasons."""

    @extend_schema(operation_id="follow_up_words", responses=shapes.WordsShape(many=True))
    def get(self, request: Request) -> Response:
        """What drafts begin with, by reason, and the fields each may have."""
        found = [told.words(each) for each in all_words(viewer=self.viewer)]
        return Response(shapes.WordsShape(found, many=True).data)


class WordsOne(FollowUpView):
    """The words of one reason."""

    def _told(self, reason: Reason) -> Response:
        found = next(each for each in all_words(viewer=self.viewer) if each.reason is reason)
        return Response(shapes.WordsShape(told.words(found)).data)

    def _reason(self, text: str) -> Reason:
        if text not in list(Reason):
            raise Http404
        return Reason(text)

    @extend_schema(
        operation_id="follow_up_words_keep",
        request=shapes.WordsIn,
        responses={200: shapes.WordsShape, **REFUSED},
    )
    def put(self, request: Request, reason: str) -> Response:
        """Keep words for a reason, one's own or the gym's. A field that can't be filled in is
        refused with the list of those that can."""
        about, sent = self._reason(reason), self.read(shapes.WordsIn)
        save_words(
            by=self.viewer,
            reason=about,
            text=sent["text"],
            for_gym=sent["whose"] == "gym",
            now=timezone.now(),
        )
        return self._told(about)

    @extend_schema(
        operation_id="follow_up_words_restore",
        parameters=[shapes.WhoseAsked],
        responses={200: shapes.WordsShape, **REFUSED},
    )
    def delete(self, request: Request, reason: str) -> Response:
        """Drop one's own words, or the gym's; those below them are used again."""
        about = self._reason(reason)
        for_gym = self.asked(shapes.WhoseAsked)["whose"] == "gym"
        restore_words(by=self.viewer, reason=about, for_gym=for_gym, now=timezone.now())
        return self._told(about)


class FollowUpSettings(FollowUpView):
    """When silence is told of."""

    def _told(self) -> Response:
        about = {"silent_days": silent_days_of(self.viewer.gym)}
        return Response(shapes.FollowUpSettingsShape(about).data)

    @extend_schema(operation_id="follow_up_settings", responses=shapes.FollowUpSettingsShape)
    def get(self, request: Request) -> Response:
        """After how many days without a result somebody is listed."""
        return self._told()

    @extend_schema(
        operation_id="follow_up_settings_keep",
        request=shapes.FollowUpSettingsShape,
        responses={200: shapes.FollowUpSettingsShape, **REFUSED},
    )
    def put(self, request: Request) -> Response:
        """Keep it, for the whole gym."""
        sent = self.read(shapes.FollowUpSettingsShape)
        save_silent_days(by=self.viewer, days=sent["silent_days"], now=timezone.now())
        return self._told()
