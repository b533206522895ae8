"""Who is to be told what: after something happened, and when a time has come.

Each can be run as often as one likes; what is in the outbox already is not made again. All
answer the numbers of the messages that can be sent now.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Exists, F, OuterRef, QuerySet

from members.models import Membership
from members.selectors import members_of
from scoring.core.iso_week import IsoWeek
from scoring.models import (
    ChangeRequest,
    Fact,
    FollowUpLetter,
    ImportLine,
    Message,
    MessageKind,
    MessageSettings,
    Result,
    State,
    StreamedClass,
)
from scoring.selectors.classes import usual_members
from scoring.selectors.messages import reachable, waiting_messages

from .outbox import forget_words, give_up_unknown, put

# A reminder is for who forgot: after dinner, and not when the next class is on.
REMIND_AFTER = timedelta(hours=3)
REMIND_UNTIL = timedelta(hours=24)
# How far back is looked for what nobody was told of, as when the broker was away.
CATCH_UP = timedelta(hours=6)
WEEKLY_HOUR = 7


def opened(*, class_id: int, now: datetime) -> list[int]:
    """A class was opened: everybody in the gym but its coach, while it is open."""
    streamed = StreamedClass.objects.select_related("gym").filter(pk=class_id).first()
    if streamed is None or streamed.state != State.OPEN:
        return []
    members = reachable(members_of(streamed.gym)).exclude(pk=streamed.coach_id)
    return put(kind=MessageKind.OPENED, subject_key=str(class_id), members=members, now=now)


def corrected(*, fact_id: int, now: datetime) -> list[int]:
    """A coach changed a result that was there; its member, unless they asked for it."""
    fact = _corrections().filter(pk=fact_id).select_related("result").first()
    if fact is None:
        return []
    members = _one(fact.result.member_id)
    return put(kind=MessageKind.CORRECTED, subject_key=str(fact_id), members=members, now=now)


def _corrections() -> QuerySet[Fact]:
    """Facts in which somebody else changed a member's result, but for asked-for ones, and
    for those by which an import's own new results went or came again: nobody was told of
    their coming either."""
    asked_for = ChangeRequest.objects.filter(
        streamed_class=OuterRef("result__streamed_class"),
        member=OuterRef("result__member"),
        answer=ChangeRequest.Answer.ACCEPTED,
        answered_at=OuterRef("created_at"),
        answered_by=OuterRef("entered_by"),
    )
    came_again = ImportLine.objects.filter(fact=OuterRef("pk"), is_new=True)
    undone = ImportLine.objects.filter(undo_fact=OuterRef("pk"))
    went = Exists(undone.filter(is_new=True)) & ~Exists(undone.filter(is_new=False))
    return (
        Fact.objects.filter(~Exists(asked_for), ~Exists(came_again), number__gt=1)
        .exclude(went, is_withdrawn=True)
        .exclude(entered_by=F("result__member"))
    )


def answered(*, request_id: int, now: datetime) -> list[int]:
    """A coach answered a request: who asked."""
    request = (
        ChangeRequest.objects.filter(pk=request_id)
        .exclude(answer=ChangeRequest.Answer.WAITING)
        .exclude(answered_by=F("member"))
        .first()
    )
    if request is None:
        return []
    members = _one(request.member_id)
    return put(kind=MessageKind.ANSWERED, subject_key=str(request_id), members=members, now=now)


@transaction.atomic
def follow_up(*, letter_id: int, now: datetime) -> list[int]:
    """A coach wrote to a member. Who can't be written to any more gets nothing, and the
    words are dropped."""
    letters = FollowUpLetter.objects.filter(pk=letter_id).exclude(words="")
    letter = letters.filter(message__isnull=True).first()
    if letter is None:
        return []
    kind, key = MessageKind.FOLLOW_UP, str(letter_id)
    made = put(kind=kind, subject_key=key, members=_one(letter.member_id), now=now)
    message = Message.objects.filter(kind=kind, subject_key=key, member=letter.member_id).first()
    letters.update(**({"message": message} if message else {"words": ""}))
    return made


def _one(member_id: int) -> list[Membership]:
    return list(reachable(Membership.objects.filter(pk=member_id)))


def closed(*, class_id: int, now: datetime) -> list[int]:
    """A class closed: its coach, while it stays closed. Closed again it is told again."""
    streamed = StreamedClass.objects.filter(pk=class_id, state=State.CLOSED).first()
    if streamed is None or streamed.closed_at is None:
        return []
    key = f"{class_id}-{int(streamed.closed_at.timestamp())}"
    members = [m for m in _one(streamed.coach_id) if m.is_coach]
    return put(kind=MessageKind.CLOSED, subject_key=key, members=members, now=now)


def reminders(*, now: datetime) -> list[int]:
    """Open classes some hours after their start: who usually logs and has not."""
    made: list[int] = []
    classes = StreamedClass.objects.filter(
        state=State.OPEN,
        starts_at__lte=now - REMIND_AFTER,
        starts_at__gt=now - REMIND_UNTIL,
    ).select_related("gym")
    for streamed in classes.order_by("starts_at", "pk"):
        there = Result.objects.filter(streamed_class=streamed).values("member")
        members = reachable(members_of(streamed.gym)).filter(pk__in=usual_members(streamed))
        made += put(
            kind=MessageKind.REMINDER,
            subject_key=str(streamed.pk),
            members=members.exclude(pk__in=there),
            now=now,
        )
    return made


def weekly(*, now: datetime) -> list[int]:
    """Monday from seven on, and Tuesday for what was missed, by each member's own clock."""
    made: list[int] = []
    wanting = MessageSettings.objects.filter(weekly=True).values("member")
    weeks: dict[str, list[Membership]] = {}
    for member in reachable(Membership.objects.filter(pk__in=wanting)):
        local = now.astimezone(member.zone)
        if (local.weekday() == 0 and local.hour >= WEEKLY_HOUR) or local.weekday() == 1:
            weeks.setdefault(str(IsoWeek.of(local.date() - timedelta(days=7))), []).append(member)
    for week, members in sorted(weeks.items()):
        made += put(kind=MessageKind.WEEKLY, subject_key=week, members=members, now=now)
    return made


def missed(*, now: datetime) -> list[int]:
    """What happened lately and was not put into the outbox at once, for whatever reason."""
    since = now - CATCH_UP
    made: list[int] = []
    for pk in StreamedClass.objects.filter(opened_at__gte=since).values_list("pk", flat=True):
        made += opened(class_id=pk, now=now)
    for pk in StreamedClass.objects.filter(closed_at__gte=since).values_list("pk", flat=True):
        made += closed(class_id=pk, now=now)
    for pk in _corrections().filter(created_at__gte=since).values_list("pk", flat=True):
        made += corrected(fact_id=pk, now=now)
    for pk in ChangeRequest.objects.filter(answered_at__gte=since).values_list("pk", flat=True):
        made += answered(request_id=pk, now=now)
    waiting = FollowUpLetter.objects.filter(message__isnull=True).exclude(words="")
    for pk in waiting.values_list("pk", flat=True):
        made += follow_up(letter_id=pk, now=now)
    return made


def everything(*, now: datetime) -> list[int]:
    """All that is due by time or was missed, and all that waited until now. What nobody
    knows the end of is reported."""
    give_up_unknown(now=now)
    forget_words(now=now)
    missed(now=now)
    reminders(now=now)
    weekly(now=now)
    return list(waiting_messages(now=now).values_list("pk", flat=True))


def stuck(*, now: datetime) -> list[Message]:
    """What failed in the last day, for the command's report."""
    failed = Message.objects.filter(state=Message.State.FAILED, finished_at__gt=now - REMIND_UNTIL)
    return list(failed.order_by("pk"))
