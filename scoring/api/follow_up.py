"""Following up by the API: the list, acting on it, drafts and letters, and their words."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, Asked, CoachView, page_of, paged
from members.models import Membership
from scoring import enqueue
from scoring.core.follow_up import Reason
from scoring.models import FollowUp, StreamedClass
from scoring.problems import refuse
from scoring.selectors.classes import class_for
from scoring.selectors.follow_up import (
    Person,
    draft,
    follow_ups,
    letters_to,
    member_for,
    person_of,
    put_away,
    unreachable,
    was_written,
)
from scoring.selectors.follow_up_reasons import Found
from scoring.services.follow_up import (
    hide_for_good,
    mark_done,
    put_off,
    take_back,
    write_letter,
)

from . import shapes_follow_up as shapes
from . import told_follow_up as told


class FollowUpView(CoachView):
    """What the addresses of following up share."""

    def asked(self, shape: type[serializers.Serializer[Any]]) -> dict[str, Any]:
        """What stands behind the question mark. Raises ``ValidationError``."""
        taken = shape(
            data={name: self.request.query_params[name] for name in self.request.query_params}
        )
        taken.is_valid(raise_exception=True)
        return dict(taken.validated_data)

    def class_of(self, sent: dict[str, Any]) -> StreamedClass | None:
        pk = sent.get("class")
        found = class_for(viewer=self.viewer, pk=pk) if pk is not None else None
        if pk is not None and found is None:
            raise Http404
        return found

    def member_or_404(self, pk: int) -> Membership:
        found = member_for(viewer=self.viewer, pk=pk)
        if found is None or found.pk == self.viewer.pk:
            raise Http404
        return found

    def person(self, member: Membership, sent: dict[str, Any]) -> Person | None:
        return person_of(
            viewer=self.viewer,
            member=member,
            now=timezone.now(),
            streamed_class=self.class_of(sent),
        )

    def found(self, member: Membership, sent: dict[str, Any]) -> Found:
        """The open reason that is meant. Raises ``Refused``."""
        person = self.person(member, sent)
        found = person.reason(sent["reason"], sent["occasion"]) if person else None
        if found is None:
            raise refuse("reason", "That is not open for them now.", kind="conflict")
        return found


class FollowUps(FollowUpView):
    """Whom to have a word with."""

    @extend_schema(
        operation_id="follow_ups",
        parameters=[shapes.ListAsked],
        responses=page_of(shapes.PersonShape),
    )
    def get(self, request: Request) -> Response:
        """Everybody with an open reason, those to be cared for first: of the last two weeks
        of the gym, or of one class."""
        streamed = self.class_of(self.asked(shapes.OfClassAsked))
        people = follow_ups(viewer=self.viewer, now=timezone.now(), streamed_class=streamed)
        return paged(
            self,
            people,
            lambda rows: shapes.PersonShape([told.person(row) for row in rows], many=True).data,
        )


class MemberFollowUp(FollowUpView):
    """One member."""

    @extend_schema(
        operation_id="follow_up_member",
        parameters=[shapes.OfClassAsked],
        responses=shapes.MemberFollowUpShape,
    )
    def get(self, request: Request, pk: int) -> Response:
        """What is open for a member, and what was sent to them."""
        member = self.member_or_404(pk)
        person = self.person(member, self.asked(shapes.OfClassAsked))
        letters = letters_to(viewer=self.viewer, member=member)[:20]
        about = told.person(person or Person(member, ()))
        about |= {
            "unreachable": unreachable(member),
            "letters": [told.letter(row) for row in letters],
        }
        return Response(shapes.MemberFollowUpShape(about).data)

    @extend_schema(
        operation_id="follow_up_act",
        request=shapes.ActIn,
        responses={200: shapes.AwayShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Mark a reason as done, put it off, or never tell it of this member again. A pain
        can't be hidden for good."""
        member, now = self.member_or_404(pk), timezone.now()
        sent = self.read(shapes.ActIn)
        reason, by = Reason(sent["reason"]), self.viewer
        if sent["act"] == "never":
            row = hide_for_good(member=member, by=by, reason=reason, now=now)
            return Response(shapes.AwayShape(told.away(row)).data)
        found = self.found(member, sent)
        if sent["act"] == "done":
            row = mark_done(member=member, by=by, reason=reason, occasion=found.occasion, now=now)
        else:
            row = put_off(
                member=member, by=by, reason=reason, occasion=found.occasion,
                until=sent["until"], now=now,
            )  # fmt: skip
        return Response(shapes.AwayShape(told.away(row)).data)


class Draft(FollowUpView):
    """A draft."""

    @extend_schema(
        operation_id="follow_up_draft",
        parameters=[shapes.ReasonAsked],
        responses={200: shapes.DraftShape, **REFUSED},
    )
    def get(self, request: Request, pk: int) -> Response:
        """The words for a reason with this member's fields filled in. Nothing is sent."""
        member = self.member_or_404(pk)
        found = self.found(member, self.asked(shapes.ReasonAsked))
        about = {
            "reason": found.reason.value,
            "occasion": found.occasion,
            "words": draft(viewer=self.viewer, member=member, found=found),
            "added": list(found.cautions),
            "unreachable": unreachable(member),
        }
        return Response(shapes.DraftShape(about).data)


class Letters(FollowUpView):
    """Sending one."""

    throttle_scope = "submit"

    @extend_schema(
        operation_id="follow_up_send",
        request=shapes.LetterIn,
        responses={200: shapes.LetterShape, 201: shapes.LetterShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Send words to a member by e-mail, once for each key, and mark their reason as done.
        The words are kept until they are sent, then deleted."""
        member, now = self.member_or_404(pk), timezone.now()
        sent = self.read(shapes.LetterIn)
        about = {"member": member, "by": self.viewer, "words": sent["words"], "key": sent["key"]}
        if was_written(viewer=self.viewer, member=member, key=sent["key"]):
            reason, occasion = Reason(sent["reason"]), sent["occasion"]
        else:
            found = self.found(member, sent)
            reason, occasion = found.reason, found.occasion
            if why := unreachable(member):
                raise refuse("words", why, "Tell them another way.", "conflict")
        done = write_letter(reason=reason, occasion=occasion, now=now, **about)
        enqueue.follow_up_written(letter_id=done.letter.pk)
        status = 201 if done.is_new else 200
        return Response(shapes.LetterShape(told.letter(done.letter)).data, status=status)


class Away(FollowUpView):
    """What was put away."""

    @extend_schema(
        operation_id="follow_ups_away", parameters=[Asked], responses=page_of(shapes.AwayShape)
    )
    def get(self, request: Request) -> Response:
        """What is never told, put off, or was done in the last two weeks; the newest first."""
        return paged(
            self,
            put_away(viewer=self.viewer, now=timezone.now()),
            lambda rows: shapes.AwayShape([told.away(row) for row in rows], many=True).data,
        )


class AwayOne(FollowUpView):
    """One of them."""

    @extend_schema(operation_id="follow_up_take_back", responses={204: None, **REFUSED})
    def delete(self, request: Request, pk: int) -> Response:
        """Take it back: the reason is on the list again, if it still stands."""
        found = FollowUp.objects.filter(
            pk__in=put_away(viewer=self.viewer, now=timezone.now()).values("pk"), pk=pk
        )
        row = found.select_related("member").first()
        if row is None:
            raise Http404
        take_back(row=row, by=self.viewer, now=timezone.now())
        return Response(status=204)
