"""Whom a coach should have a word with: the list, what was put away, and what was sent."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Max, Q, QuerySet

from members.models import Gym, Membership, ShownAs
from scoring import access
from scoring.core.follow_up import SILENT_DAYS, Reason
from scoring.core.follow_up_words import DEFAULTS, fill
from scoring.models import (
    FollowUp,
    FollowUpLetter,
    FollowUpSettings,
    FollowUpWords,
    MessageKind,
    MessageSettings,
    State,
    StreamedClass,
)

from .follow_up_facts import FRESH_DAYS, active_members, facts_of
from .follow_up_reasons import Found, Seeker
from .messages import has_proven_address

DONE_SHOWN = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody on the list, with what is open; the most careful reason first."""

    member: Membership
    reasons: tuple[Found, ...]

    def reason(self, asked: str, occasion: str = "") -> Found | None:
        """The open reason of a name, on one occasion if it is given."""
        return next(
            (r for r in self.reasons if r.reason == asked and occasion in ("", r.occasion)), None
        )


def silent_days_of(gym: Gym) -> int:
    """After how many days without a result a gym wants to hear of it."""
    chosen = FollowUpSettings.objects.filter(gym=gym).values_list("silent_days", flat=True).first()
    return chosen or SILENT_DAYS


def follow_ups(
    *,
    viewer: access.Viewer,
    now: datetime,
    streamed_class: StreamedClass | None = None,
    member: Membership | None = None,
) -> list[Person]:
    """Everybody with an open reason, those to be cared for first.

    Of a class: what came up in it, and who is missing. Without one: what came up in the last
    two weeks of the gym, and who has been silent. Only for its coaches; oneself is left out.
    """
    if viewer is None or not access.may_manage_gym(viewer):
        return []
    if streamed_class is not None and not access.may_manage(viewer, streamed_class):
        return []
    gym = viewer.gym
    seeker = Seeker(
        facts=facts_of(gym=gym, streamed_class=streamed_class, now=now),
        now=now,
        silent_days=silent_days_of(gym),
        is_gym_wide=streamed_class is None,
    )
    members = active_members(gym)
    members.pop(viewer.pk, None)
    if member is not None:
        members = {pk: row for pk, row in members.items() if pk == member.pk}
    found = [(row, reasons) for row in members.values() if (reasons := seeker.reasons(row))]
    today = now.astimezone(ZoneInfo(gym.timezone)).date()
    hidden = _hidden(found, today=today)
    people = [
        Person(row, tuple(open_))
        for row, reasons in found
        if (open_ := [one for one in reasons if not hidden(row, one)])
    ]
    return sorted(people, key=_urgency)


def _urgency(person: Person) -> tuple[int, int, str, int]:
    first = person.reasons[0]
    newest = -(first.day.toordinal() if first.day else 0)
    return first.reason.rank, newest, person.member.display_name, person.member.pk


def _hidden(
    found: Iterable[tuple[Membership, list[Found]]], *, today: date
) -> Callable[[Membership, Found], bool]:
    """Which reasons are put away, by the newest row of each occasion; one query."""
    found = list(found)
    occasions = {
        key for _, reasons in found for one in reasons for key in (one.occasion, *one.also)
    }
    rows = FollowUp.objects.filter(member__in=[member.pk for member, _ in found]).filter(
        Q(occasion="") | Q(occasion__in=occasions)
    )
    newest = {
        (row.member_id, row.reason, row.occasion): row
        for row in rows.select_related("letter__message").order_by("pk")
    }

    def is_hidden(member: Membership, one: Found) -> bool:
        for occasion in ("", one.occasion, *one.also):
            row = newest.get((member.pk, one.reason, occasion))
            if row is not None and row.hides(today):
                return True
        return False

    return is_hidden


def person_of(
    *,
    viewer: access.Viewer,
    member: Membership,
    now: datetime,
    streamed_class: StreamedClass | None = None,
) -> Person | None:
    """What is open for one member; ``None`` if nothing is, or for who may not see it."""
    people = follow_ups(viewer=viewer, now=now, streamed_class=streamed_class, member=member)
    return people[0] if people else None


def member_for(*, viewer: access.Viewer, pk: int) -> Membership | None:
    """A member of the viewer's gym whom they may follow up."""
    if viewer is None or not access.may_manage_gym(viewer):
        return None
    return (
        Membership.objects.filter(gym=viewer.gym_id, left_at__isnull=True, pk=pk)
        .select_related("gym", "user", "message_settings")
        .first()
    )


def put_away(*, viewer: access.Viewer, now: datetime) -> QuerySet[FollowUp]:
    """What the gym's coaches put away and can take back: never, later, and lately done."""
    if viewer is None or not access.may_manage_gym(viewer):
        return FollowUp.objects.none()
    today = now.astimezone(ZoneInfo(viewer.gym.timezone)).date()
    theirs = FollowUp.objects.filter(member__gym=viewer.gym_id, member__left_at__isnull=True)
    newest = theirs.values("member", "reason", "occasion").annotate(last=Max("pk")).values("last")
    return (
        theirs.filter(pk__in=newest)
        .filter(
            Q(state=FollowUp.State.NEVER)
            | Q(state=FollowUp.State.LATER, until__gt=today)
            | Q(state=FollowUp.State.DONE, at__gt=now - DONE_SHOWN)
        )
        .select_related("member", "by", "letter__message")
        .order_by("-pk")
    )


def letters_to(*, viewer: access.Viewer, member: Membership) -> QuerySet[FollowUpLetter]:
    """That something was sent to a member, when, by whom and why; the newest first."""
    if viewer is None or not access.may_manage_gym(viewer) or viewer.gym_id != member.gym_id:
        return FollowUpLetter.objects.none()
    return FollowUpLetter.objects.filter(member=member).select_related("by", "message")


def unreachable(member: Membership) -> str:
    """Why an e-mail can't be sent to a member; empty if it can.

    A coach is not told the address, and whether there is one only so far.
    """
    if not has_proven_address(member=member):
        return "They have no confirmed e-mail address here, so nothing can be sent."
    wanted = getattr(member, "message_settings", None) or MessageSettings(member=member)
    if not wanted.wants(MessageKind.FOLLOW_UP):
        return "They switched off messages from their coach."
    return ""


def words_for(viewer: Membership, reason: Reason) -> str:
    """A coach's own words for a reason, else the gym's, else the usual ones."""
    kept = {
        row.coach_id: row.text
        for row in FollowUpWords.objects.filter(gym=viewer.gym_id, reason=reason).filter(
            Q(coach=viewer) | Q(coach__isnull=True)
        )
    }
    return kept.get(viewer.pk) or kept.get(None) or DEFAULTS[reason]


def draft(*, viewer: Membership, member: Membership, found: Found) -> str:
    """The words for a reason with this member's fields filled in, and nobody else's."""
    values = {
        "name": (member.display_name.split() or [""])[0],
        "coach": _signed(viewer, member),
        "gym": viewer.gym.name,
        **found.values,
    }
    return fill(words_for(viewer, found.reason), values)


def _signed(coach: Membership, member: Membership) -> str:
    """The coach under the name that the member sees."""
    if coach.shown_as == ShownAs.UNNAMED:
        return "Your coach"
    return access.shown_name(member, coach)


@dataclass(frozen=True, slots=True)
class Words:
    """The words for a reason: the gym's and the coach's own, empty where none are kept."""

    reason: Reason
    gym: str
    own: str

    @property
    def usual(self) -> str:
        return DEFAULTS[self.reason]

    @property
    def in_use(self) -> str:
        return self.own or self.gym or self.usual


def all_words(*, viewer: access.Viewer) -> list[Words]:
    """Every reason's words, for coaches of the gym."""
    if viewer is None or not access.may_manage_gym(viewer):
        return []
    kept = {
        (row.reason, row.coach_id is not None): row.text
        for row in FollowUpWords.objects.filter(gym=viewer.gym_id).filter(
            Q(coach=viewer) | Q(coach__isnull=True)
        )
    }
    return [
        Words(reason, kept.get((reason, False), ""), kept.get((reason, True), ""))
        for reason in Reason
    ]


def fresh_classes(*, viewer: access.Viewer, now: datetime) -> list[StreamedClass]:
    """The classes of the last two weeks, the newest first, for choosing one."""
    if viewer is None or not access.may_manage_gym(viewer):
        return []
    return list(
        access.visible_classes(viewer)
        .exclude(state=State.DRAFT)
        .filter(starts_at__lte=now, starts_at__gte=now - timedelta(days=FRESH_DAYS))
        .select_related("workout", "gym")
        .order_by("-starts_at", "-pk")
    )


def was_written(*, viewer: access.Viewer, member: Membership, key: str) -> bool:
    """Whether something was sent from the form of this key."""
    return letters_to(viewer=viewer, member=member).filter(key=key[:64]).exists()
