"""Notes on a member, for their coaches. The member reads them in the copy of their data."""

from __future__ import annotations

from django.db.models import QuerySet

from members.models import Membership
from scoring import access
from scoring.models import MemberNote


def notes_on(*, member: Membership, viewer: access.Viewer) -> QuerySet[MemberNote]:
    """All notes on a member, struck ones too, the newest first; none for who may not."""
    if not access.may_see_notes(viewer, member):
        return MemberNote.objects.none()
    found: QuerySet[MemberNote] = MemberNote.objects.filter(member=member).select_related(
        "written_by", "strike__struck_by"
    )
    return found


def note_for(*, viewer: access.Viewer, pk: int) -> MemberNote | None:
    """One note that the viewer may read."""
    note: MemberNote | None = (
        MemberNote.objects.filter(pk=pk)
        .select_related("member__gym", "written_by", "strike__struck_by")
        .first()
    )
    return note if note is not None and access.may_see_notes(viewer, note.member) else None
