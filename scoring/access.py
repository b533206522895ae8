"""The one gate: what may this viewer see and do.

A viewer is a ``Membership`` or ``None`` (a stranger). Pages, API, exports and selectors
all ask here and nowhere else.
"""

from __future__ import annotations

from django.db.models import Q, QuerySet

from members.models import CoachRight, Membership, ShownAs

from .models import ClassTemplate, ImportRun, Result, State, StreamedClass, Workout

Viewer = Membership | None


def is_active(viewer: Viewer) -> bool:
    """Whether the viewer belongs to a gym now."""
    return viewer is not None and viewer.left_at is None


def visible_classes(viewer: Viewer) -> QuerySet[StreamedClass]:
    """Classes of the viewer's gym; drafts only for coaches; none for a stranger."""
    if viewer is None or not is_active(viewer):
        return StreamedClass.objects.none()
    seen = Q(gym=viewer.gym_id)
    if not viewer.is_coach:
        seen &= ~Q(state=State.DRAFT)
    return StreamedClass.objects.filter(seen)


def visible_workouts(viewer: Viewer) -> QuerySet[Workout]:
    """Coaches see all workouts of their gym, members those of classes they see."""
    if viewer is None or not is_active(viewer):
        return Workout.objects.none()
    if viewer.is_coach:
        return Workout.objects.filter(gym=viewer.gym_id)
    return Workout.objects.filter(pk__in=visible_classes(viewer).values("workout"))


def visible_templates(viewer: Viewer) -> QuerySet[ClassTemplate]:
    """Frames for classes: the gym's coaches have them all, nobody else any."""
    if viewer is None or not is_active(viewer) or not viewer.is_coach:
        return ClassTemplate.objects.none()
    return ClassTemplate.objects.filter(gym=viewer.gym_id)


def may_see_class(viewer: Viewer, streamed_class: StreamedClass) -> bool:
    """Members see their gym's open and closed classes, coaches its drafts too."""
    if viewer is None or not is_active(viewer) or viewer.gym_id != streamed_class.gym_id:
        return False
    return streamed_class.state != State.DRAFT or viewer.is_coach


def may_manage_gym(viewer: Viewer) -> bool:
    """Whether the viewer coaches in their gym."""
    return viewer is not None and viewer.is_coach


def may_manage(viewer: Viewer, streamed_class: StreamedClass) -> bool:
    """Coaches and owners manage every class of their gym."""
    return viewer is not None and viewer.is_coach and viewer.gym_id == streamed_class.gym_id


def may_change_credits(viewer: Viewer) -> bool:
    """Coaches, unless an owner kept that back from them."""
    return viewer is not None and viewer.may(CoachRight.CREDITS)


def visible_imports(viewer: Viewer) -> QuerySet[ImportRun]:
    """What was brought into classes of a gym: its coaches."""
    if viewer is None or not viewer.is_coach:
        return ImportRun.objects.none()
    return ImportRun.objects.filter(gym=viewer.gym_id)


def may_see_audit(viewer: Viewer) -> bool:
    """The audit trail of a gym: its coaches."""
    return may_manage_gym(viewer)


def may_see_result(viewer: Viewer, result: Result) -> bool:
    """A board's rows are open to all who see the board, except those shown without a name.

    The owner and coaches see those too, and what was withdrawn.
    """
    if may_see_private(viewer, result):
        return True
    if result.current is None or result.current.is_withdrawn:
        return False
    return (
        may_see_class(viewer, result.streamed_class) and result.member.shown_as != ShownAs.UNNAMED
    )


def may_see_private(viewer: Viewer, result: Result) -> bool:
    """Notes, effort and the history of corrections: the owner and coaches."""
    if viewer is None or not may_see_class(viewer, result.streamed_class):
        return False
    return viewer.pk == result.member_id or viewer.is_coach


def may_see_history(viewer: Viewer, member: Membership) -> bool:
    """A member's own history: themselves and their coaches."""
    if viewer is None or not is_active(viewer) or viewer.gym_id != member.gym_id:
        return False
    return viewer.pk == member.pk or viewer.is_coach


def may_see_notes(viewer: Viewer, member: Membership) -> bool:
    """Notes on a member: the gym's other coaches, to read, write and strike out. Not the
    member, who has them in the copy of their data."""
    if viewer is None or not viewer.is_coach or viewer.gym_id != member.gym_id:
        return False
    return viewer.pk != member.pk


def shown_name(viewer: Viewer, member: Membership) -> str:
    """The name under which a viewer sees a member."""
    inside = viewer is not None and viewer.gym_id == member.gym_id
    if viewer is not None and inside and (viewer.pk == member.pk or viewer.is_coach):
        return member.display_name
    if member.shown_as == ShownAs.INITIALS:
        return "".join(f"{word[0].upper()}." for word in member.display_name.split())
    if member.shown_as == ShownAs.UNNAMED:
        return "a member"
    return member.display_name
