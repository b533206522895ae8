"""Requests for changes and told pains, for those whom they concern."""

from __future__ import annotations

from django.db.models import QuerySet

from members.models import Membership
from members.plain import Plain
from scoring import access
from scoring.models import ChangeRequest, Pain, StreamedClass


def requests_of(*, streamed_class: StreamedClass, viewer: access.Viewer) -> QuerySet[ChangeRequest]:
    """A coach sees all of a class, a member their own; the newest first."""
    found = ChangeRequest.objects.filter(streamed_class=streamed_class).select_related(
        "member", "answered_by"
    )
    if access.may_manage(viewer, streamed_class):
        return found
    return found.filter(member=viewer) if viewer is not None else found.none()


_ANY = Plain(
    ChangeRequest, "of.streamed_class_id = %s AND of.member_id = %s LIMIT 1", only=("answer",)
)


def requests_by(
    *, streamed_class: StreamedClass, member: Membership, viewer: access.Viewer
) -> list[ChangeRequest]:
    """A member's own, for themselves and coaches. Most have none, which costs next to nothing."""
    if not _ANY.rows([streamed_class.pk, member.pk]):
        return []
    return list(requests_of(streamed_class=streamed_class, viewer=viewer).filter(member=member))


def waiting_requests(*, viewer: access.Viewer) -> QuerySet[ChangeRequest]:
    """What waits for an answer in the viewer's gym, for coaches; the oldest first."""
    if viewer is None or not access.may_manage_gym(viewer):
        return ChangeRequest.objects.none()
    return (
        ChangeRequest.objects.filter(
            streamed_class__gym=viewer.gym_id, answer=ChangeRequest.Answer.WAITING
        )
        .select_related("member", "streamed_class__workout")
        .order_by("asked_at", "pk")
    )


def request_for(*, viewer: access.Viewer, pk: int) -> ChangeRequest | None:
    """One request that the viewer may answer."""
    return (
        ChangeRequest.objects.filter(streamed_class__in=access.visible_classes(viewer), pk=pk)
        .select_related("streamed_class", "member")
        .first()
        if access.may_manage_gym(viewer)
        else None
    )


_PAIN = Plain(Pain, "of.streamed_class_id = %s AND of.member_id = %s")


def pain_of(
    *, streamed_class: StreamedClass, member: Membership, viewer: access.Viewer
) -> Pain | None:
    """What a member said hurts, for themselves and their coaches."""
    if not access.may_see_history(viewer, member):
        return None
    found = _PAIN.rows([streamed_class.pk, member.pk])
    return found[0] if found else None


def pains_of(*, streamed_class: StreamedClass, viewer: access.Viewer) -> QuerySet[Pain]:
    """Who said what hurts in a class, for its coaches."""
    if not access.may_manage(viewer, streamed_class):
        return Pain.objects.none()
    return (
        Pain.objects.filter(streamed_class=streamed_class)
        .select_related("member")
        .order_by("member__display_name", "pk")
    )
