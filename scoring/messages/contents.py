"""What each kind of message says, found when it is sent.

So nothing is told that is no longer true or no longer theirs to see. Nobody else is spoken
of, but the coach who acted, by the name that this member sees.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

from members.models import Membership, ShownAs
from scoring import access, boards
from scoring.core.body import advice
from scoring.core.follow_up import Reason
from scoring.core.iso_week import IsoWeek
from scoring.models import (
    ChangeRequest,
    Fact,
    FollowUpLetter,
    Message,
    MessageKind,
    Pain,
    Result,
    Score,
    State,
    StreamedClass,
)
from scoring.selectors.classes import class_for, classes_for
from scoring.selectors.digest import digest

from .letters import Letter
from .links import whole
from .quiet import week_bounds

STALE = timedelta(days=3)


def letter_of(message: Message, *, now: datetime) -> Letter | None:
    """The words of a message; ``None`` if there is nothing to say any more."""
    if now - message.created_at > STALE or not access.is_active(message.member):
        return None
    return _WRITERS[MessageKind(message.kind)](message.member, message.subject_key, now)


def _when(moment: datetime, member: Membership) -> str:
    """A moment on the member's clock, ``Tuesday 24 November, 18:30``."""
    local = moment.astimezone(member.zone)
    return f"{local:%A} {local.day} {local:%B}, {local:%H:%M}"


def _coach(by: Membership | None, member: Membership) -> str:
    """The coach who acted, under the name that the member sees."""
    if by is None or by.shown_as == ShownAs.UNNAMED:
        return "your coach"
    return f"your coach, {access.shown_name(member, by)},"


def _open_class(member: Membership, key: str) -> StreamedClass | None:
    streamed = class_for(viewer=member, pk=int(key))
    return streamed if streamed is not None and streamed.state == State.OPEN else None


def _opened(member: Membership, key: str, now: datetime) -> Letter | None:
    streamed = _open_class(member, key)
    if streamed is None:
        return None
    begins = "It begins on" if streamed.starts_at > now else "It began on"
    sentences = [f"{begins} {_when(streamed.starts_at, member)}, by your clock."]
    if streamed.note:
        sentences.append(f"A word from the coach: {' '.join(streamed.note.split())}")
    return Letter(
        subject=f"{streamed.workout.title} is open",
        sentences=tuple(sentences),
        link=whole("class", streamed.pk),
        link_words="See the class and your version of it",
    )


def _reminder(member: Membership, key: str, now: datetime) -> Letter | None:
    streamed = _open_class(member, key)
    # Who withdrew a result has been there and decided.
    if streamed is None or Result.objects.filter(streamed_class=streamed, member=member).exists():
        return None
    return Letter(
        subject=f"Did you do {streamed.workout.title}?",
        sentences=(
            f"The class was on {_when(streamed.starts_at, member)}, and you have logged nothing.",
            "If you did it, it takes a minute to log. If you did not, there is nothing to do.",
        ),
        link=whole("class-log", streamed.pk),
        link_words="Log it",
    )


def _corrected(member: Membership, key: str, now: datetime) -> Letter | None:
    fact = (
        Fact.objects.filter(pk=int(key), result__member=member)
        .select_related("result__streamed_class__workout", "entered_by")
        .first()
    )
    # Corrected again meanwhile: the later message tells what counts.
    if fact is None or fact.result.current_id != fact.pk:
        return None
    streamed = fact.result.streamed_class
    if not access.may_see_class(member, streamed):
        return None
    who = _coach(fact.entered_by, member)
    before = fact.result.facts.filter(number=fact.number - 1).first()
    lines = [f"Before: {before.mark}"] if before and not before.is_withdrawn else []
    if fact.is_withdrawn:
        said = f"{who} took your result off the board. It stays on record."
    else:
        said = f"{who} changed your result."
        lines.append(f"Now: {fact.mark}" + (f", with {fact.options}" if fact.options else ""))
    if fact.reason:
        lines.append(f"The reason: {fact.reason}")
    return Letter(
        subject=f"Your result in {streamed.workout.title} was corrected",
        sentences=(said[0].upper() + said[1:],),
        lines=tuple(lines),
        link=whole("result", fact.result_id),
        link_words="See your result",
    )


def _answered(member: Membership, key: str, now: datetime) -> Letter | None:
    request = (
        ChangeRequest.objects.filter(pk=int(key), member=member)
        .exclude(answer=ChangeRequest.Answer.WAITING)
        .select_related("streamed_class__workout", "answered_by")
        .first()
    )
    if request is None or not access.may_see_class(member, request.streamed_class):
        return None
    accepted = request.answer == ChangeRequest.Answer.ACCEPTED
    who = _coach(request.answered_by, member)
    said = f"{who} {'accepted' if accepted else 'declined'} the change that you asked for."
    lines = [f"You asked for: {request.mark}"]
    if request.answer_words:
        lines.append(f"The answer: {request.answer_words}")
    return Letter(
        subject=f"{request.streamed_class.workout.title}: your request was {request.answer}",
        sentences=(said[0].upper() + said[1:],),
        lines=tuple(lines),
        link=whole("class", request.streamed_class_id),
        link_words="See the class",
    )


NO_ANSWER = (
    "Nobody reads answers to this e-mail: tell your coach in class, or note what hurts with "
    "your result."
)


def _follow_up(member: Membership, key: str, now: datetime) -> Letter | None:
    letter = (
        FollowUpLetter.objects.filter(pk=int(key), member=member)
        .exclude(words="")
        .select_related("by")
        .first()
    )
    if letter is None or letter.by is None or not letter.by.is_coach:
        return None
    who = _coach(letter.by, member).rstrip(",")
    lines: tuple[str, ...] = ()
    link, link_words = whole("home"), "What is on now"
    if letter.reason == Reason.PAIN:
        pain = _pain(member, letter.occasion)
        if pain is None:  # taken back meanwhile
            return None
        # Whatever the coach wrote, whom to ask about a pain stands below it.
        lines = advice(pain.areas)
        link, link_words = whole("cautions"), "Cautions, and when to stop"
    return Letter(
        # On a locked phone others read along: it tells nothing of the reason.
        subject=f"A word from your coach at {member.gym.name}",
        sentences=(
            f"{who[0].upper()}{who[1:]}, wrote to you:",
            *(line for line in letter.words.split("\n") if line.strip()),
            NO_ANSWER,
        ),
        lines=lines,
        link=link,
        link_words=link_words,
    )


def _pain(member: Membership, occasion: str) -> Pain | None:
    """The pain of an occasion, ``class-12-1795544400``, if it still is as it was told."""
    _, class_id, told_at = occasion.split("-")
    pain = Pain.objects.filter(member=member, streamed_class=int(class_id)).first()
    return pain if pain is not None and int(pain.told_at.timestamp()) == int(told_at) else None


def _weekly(member: Membership, key: str, now: datetime) -> Letter | None:
    monday = IsoWeek.read(key).monday
    begins, ends = week_bounds(monday, member.zone)
    _, next_ends = week_bounds(monday + timedelta(days=7), member.zone)
    scores = Score.objects.filter(
        result__member=member,
        streamed_class__in=access.visible_classes(member),
        streamed_class__starts_at__gte=begins,
        streamed_class__starts_at__lt=ends,
    ).select_related("fact", "streamed_class__workout")
    done = [_line(score) for score in scores.order_by("streamed_class__starts_at", "pk")]
    coming = [
        f"Coming: {streamed.workout.title}, {_when(streamed.starts_at, member)}"
        for streamed in classes_for(viewer=member)
        .filter(starts_at__gte=max(ends, now), starts_at__lt=next_ends)
        .exclude(state=State.DRAFT)
        .order_by("starts_at", "pk")
    ]
    if not done and not coming:
        return None
    number = len(done)
    counted = f"{number} class{'' if number == 1 else 'es'}" if number else "no class"
    come = "" if coming else " No class of this week is open yet."
    return Letter(
        subject=f"Your week at {member.gym.name}",
        sentences=(f"You logged {counted} in the week of {monday.day} {monday:%B}.{come}",),
        lines=tuple(done + coming),
        link=whole("home"),
        link_words="What is on now",
    )


def _line(score: Score) -> str:
    pair = (score.key, score.tie_key)
    standings = boards.store().standings(score.streamed_class, [pair], "all")
    place = f"place {standings.places[pair].rank} of {standings.total}"
    return (
        f"{score.streamed_class.workout.title}: {score.fact.mark}, "
        f"adjusted {score.adjusted_text}, {place}"
    )


def _closed(member: Membership, key: str, now: datetime) -> Letter | None:
    pk, _, moment = key.partition("-")
    streamed = class_for(viewer=member, pk=int(pk))
    if streamed is None or streamed.closed_at is None or not access.may_manage(member, streamed):
        return None
    if str(int(streamed.closed_at.timestamp())) != moment:
        return None  # reopened meanwhile; closed again, another message tells of it
    told = digest(streamed_class=streamed, viewer=member)
    if told is None:
        return None
    return Letter(
        subject=f"{streamed.workout.title} is closed",
        sentences=(f"It was on {_when(streamed.starts_at, member)}. {told.summary}",),
        lines=told.waiting,
        link=whole("class-manage", streamed.pk),
        link_words="Open the class",
    )


_WRITERS: dict[MessageKind, Callable[[Membership, str, datetime], Letter | None]] = {
    MessageKind.OPENED: _opened,
    MessageKind.REMINDER: _reminder,
    MessageKind.CORRECTED: _corrected,
    MessageKind.ANSWERED: _answered,
    MessageKind.WEEKLY: _weekly,
    MessageKind.CLOSED: _closed,
    MessageKind.FOLLOW_UP: _follow_up,
}
