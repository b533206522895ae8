"""A member as their coaches look at them, and notes on them."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, Asked, CoachView, Time, page_of, paged
from members.models import Membership
from members.selectors import members_of
from scoring.models import MemberNote
from scoring.selectors.member import member_seen
from scoring.selectors.notes import note_for, notes_on
from scoring.services.notes import MAX_WHY, MAX_WORDS, add_note, strike_note

from . import shapes
from .progress import BestShape, StepShape, told_bests, told_steps


class GapShape(serializers.Serializer[Any]):
    """Weeks in a row with classes and nothing logged, by their Mondays."""

    first = serializers.DateField()
    last = serializers.DateField()


class ThereShape(serializers.Serializer[Any]):
    """Attendance over 26 weeks; logged is how we know."""

    last_class = serializers.IntegerField(allow_null=True)
    last_at = Time(allow_null=True)
    missed_since = serializers.IntegerField()
    weeks_in_a_row = serializers.IntegerField()
    held = serializers.IntegerField()
    logged = serializers.IntegerField()
    gaps = GapShape(many=True)


class EffortToldShape(serializers.Serializer[Any]):
    result = serializers.IntegerField()
    starts_at = Time()
    effort = serializers.IntegerField()


class PainToldShape(shapes.OfClass):
    areas = serializers.ListField(child=serializers.CharField())
    words = serializers.CharField(allow_blank=True)
    told_at = Time()


class AskedShape(shapes.OfClass):
    mark = serializers.CharField()
    words = serializers.CharField()
    asked_at = Time()
    answer = serializers.CharField()
    answer_words = serializers.CharField(allow_blank=True)


class MemberSeenShape(serializers.Serializer[Any]):
    """A member over time. ``steps`` are the oldest first, all else the newest."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    attendance = ThereShape()
    efforts = EffortToldShape(many=True)
    steps = StepShape(many=True)
    bests = BestShape(many=True)
    pains = PainToldShape(many=True)
    requests = AskedShape(many=True)


class NoteIn(serializers.Serializer[Any]):
    """A note. The member can ask for what is written: write what you would say to them."""

    words = serializers.CharField(max_length=MAX_WORDS)


class StrikeIn(serializers.Serializer[Any]):
    why = serializers.CharField(max_length=MAX_WHY)


class NoteShape(serializers.Serializer[Any]):
    """A note on a member; it is never changed, only struck out, and stays readable."""

    id = serializers.IntegerField()
    words = serializers.CharField()
    written_by = serializers.CharField(allow_null=True)
    written_at = Time()
    is_struck_out = serializers.BooleanField()
    struck_by = serializers.CharField(allow_null=True)
    struck_at = Time(allow_null=True)
    struck_because = serializers.CharField(allow_blank=True)


def note(row: MemberNote) -> dict[str, Any]:
    """A note as ``NoteShape`` takes it."""
    strike = getattr(row, "strike", None)
    return {
        "id": row.pk,
        "words": row.words,
        "written_by": row.written_by.display_name if row.written_by else None,
        "written_at": row.written_at,
        "is_struck_out": strike is not None,
        "struck_by": strike.struck_by.display_name if strike and strike.struck_by else None,
        "struck_at": strike.struck_at if strike else None,
        "struck_because": strike.why if strike else "",
    }


class OfMember(CoachView):
    """Of one member of the gym."""

    def member(self, pk: int) -> Membership:
        found = members_of(self.viewer.gym).filter(pk=pk).first()
        if found is None:
            raise Http404
        return found


class MemberSeen(OfMember):
    """A member over time."""

    @extend_schema(operation_id="member_seen", responses=MemberSeenShape)
    def get(self, request: Request, pk: int) -> Response:
        """Attendance, effort, options and loads, bests, pains, requests. Nothing of
        their year of birth or weight, which are for themselves alone."""
        seen = member_seen(member=self.member(pk), viewer=self.viewer, now=timezone.now())
        if seen is None:
            raise Http404
        there = seen.there
        told = {
            "id": pk,
            "name": seen.member.display_name,
            "attendance": {
                "last_class": there.last.pk if there.last else None,
                "last_at": there.last.starts_at if there.last else None,
                "missed_since": there.missed,
                "weeks_in_a_row": there.in_a_row,
                "held": there.held,
                "logged": there.logged,
                "gaps": [{"first": first, "last": last} for first, last in there.gaps],
            },
            "efforts": [
                {
                    "result": score.result_id,
                    "starts_at": score.streamed_class.starts_at,
                    "effort": score.fact.effort,
                }
                for score in seen.scores
                if score.fact.effort is not None
            ],
            "steps": told_steps(seen.steps),
            "bests": told_bests(seen.bests),
            "pains": [
                {
                    "class": pain.streamed_class_id,
                    "areas": pain.areas,
                    "words": pain.words,
                    "told_at": pain.told_at,
                }
                for pain in seen.pains
            ],
            "requests": [
                {
                    "class": asked.streamed_class_id,
                    "mark": asked.mark,
                    "words": asked.words,
                    "asked_at": asked.asked_at,
                    "answer": asked.answer,
                    "answer_words": asked.answer_words,
                }
                for asked in seen.requests
            ],
        }
        return Response(MemberSeenShape(told).data)


class Notes(OfMember):
    """Notes on a member, for the gym's other coaches."""

    @extend_schema(operation_id="member_notes", parameters=[Asked], responses=page_of(NoteShape))
    def get(self, request: Request, pk: int) -> Response:
        """All notes, struck ones too, the newest first. None on oneself."""
        found = notes_on(member=self.member(pk), viewer=self.viewer)
        return paged(self, found, lambda rows: NoteShape([note(r) for r in rows], many=True).data)

    @extend_schema(
        operation_id="member_note_add", request=NoteIn, responses={201: NoteShape, **REFUSED}
    )
    def post(self, request: Request, pk: int) -> Response:
        """Write a note down. Sent again within ten minutes, it is the same note."""
        member = self.member(pk)
        sent = self.read(NoteIn)
        kept = add_note(member=member, by=self.viewer, words=sent["words"], now=timezone.now())
        return Response(NoteShape(note(kept)).data, status=201)


class Strike(CoachView):
    """Striking a note out."""

    @extend_schema(
        operation_id="note_strike", request=StrikeIn, responses={200: NoteShape, **REFUSED}
    )
    def post(self, request: Request, pk: int) -> Response:
        """Strike a note out, with a reason. It stays readable as struck; once."""
        found = note_for(viewer=self.viewer, pk=pk)
        if found is None:
            raise Http404
        sent = self.read(StrikeIn)
        strike_note(note=found, by=self.viewer, why=sent["why"], now=timezone.now())
        struck = note_for(viewer=self.viewer, pk=pk)
        if struck is None:
            raise Http404
        return Response(NoteShape(note(struck)).data)
