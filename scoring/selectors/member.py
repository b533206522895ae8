"""One member over time, as their coaches look at them before and after a class."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from members.models import Membership
from scoring import access
from scoring.models import (
    ChangeRequest,
    FollowUpLetter,
    MemberNote,
    Pain,
    Score,
    StreamedClass,
)

from . import progress
from .follow_up import letters_to
from .levels import LevelSeen, level_of
from .notes import notes_on

PAINS = 20
REQUESTS = 20
LETTERS = 10
WEEKS = 26


@dataclass(frozen=True, slots=True)
class There:
    """When a member logs. ``last`` is the newest class they logged in, ``missed`` how many
    were held since. ``in_a_row`` counts weeks back from now with at least one class logged;
    a week in which none was held doesn't break it, and the one under way only if it is over.
    ``gaps`` are spans of weeks, first and last Monday, in which classes were held and none
    was logged, the newest first."""

    last: StreamedClass | None
    missed: int
    in_a_row: int
    held: int
    logged: int
    gaps: tuple[tuple[date, date], ...]


@dataclass(frozen=True, slots=True)
class MemberSeen:
    """Everything of the page, each list the newest first."""

    member: Membership
    there: There
    scores: list[Score]
    level: LevelSeen | None
    steps: dict[str, list[progress.Step]]
    bests: list[progress.Best]
    pains: list[Pain]
    requests: list[ChangeRequest]
    letters: list[FollowUpLetter]
    notes: QuerySet[MemberNote]
    may_note: bool


def member_seen(
    *, member: Membership, viewer: Membership, now: datetime, since: date | None = None
) -> MemberSeen | None:
    """For coaches of the member's gym; ``None`` for others. ``since`` is the day that the level
    is compared with."""
    if not access.may_manage_gym(viewer) or not access.may_see_history(viewer, member):
        return None
    scores = progress.own_scores(member=member, viewer=viewer)
    weeks = progress.attendance(member=member, viewer=viewer, now=now, last_weeks=WEEKS)
    pains = Pain.objects.filter(member=member).select_related("streamed_class__workout")
    asked = ChangeRequest.objects.filter(member=member).select_related("streamed_class__workout")
    return MemberSeen(
        member=member,
        there=_there(weeks, scores, now.astimezone(ZoneInfo(member.gym.timezone)).date()),
        scores=scores[::-1],
        level=level_of(member=member, viewer=viewer, now=now, since=since),
        steps=progress.steps(scores),
        bests=progress.bests(progress.unquestioned(scores)),
        pains=list(pains.order_by("-told_at", "-pk")[:PAINS]),
        requests=list(asked[:REQUESTS]),
        letters=list(letters_to(viewer=viewer, member=member)[:LETTERS]),
        notes=notes_on(member=member, viewer=viewer),
        may_note=access.may_see_notes(viewer, member),
    )


def _there(weeks: list[progress.Attended], scores: list[Score], today: date) -> There:
    """``weeks`` are the newest first."""
    classes = [(row, there) for week in weeks for row, there in reversed(week.classes)]
    missed = next((n for n, (_, there) in enumerate(classes) if there), len(classes))
    this_week = today - timedelta(days=today.weekday())
    in_a_row, gaps, gap = 0, [], None
    is_whole = True
    for week in weeks:
        if not week.classes:
            continue
        came = any(there for _, there in week.classes)
        if came:
            in_a_row += is_whole
            if gap:
                gaps.append(gap)
            gap = None
        elif week.monday < this_week:
            is_whole = False
            gap = (week.monday, gap[1] if gap else week.monday)
    if gap:
        gaps.append(gap)
    return There(
        last=scores[-1].streamed_class if scores else None,
        missed=missed,
        in_a_row=in_a_row,
        held=len(classes),
        logged=sum(there for _, there in classes),
        gaps=tuple(gaps),
    )
