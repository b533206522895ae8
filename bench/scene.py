"""A gym of many members: classes of several sizes in which all have logged, classes in which
nobody has yet, and members with few results and with a thousand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.db import transaction
from django.utils import timezone

from bench.workload import HISTORIES, SIZES, WORKOUT, marks
from members.models import Gym, Membership, Role, User
from scoring.mapping import course_of, rules_of
from scoring.models import State, StreamedClass
from scoring.services.classes import create_class, open_class
from scoring.services.reading import ResultInput, read_result, texts_of
from scoring.services.writing_many import NewFact, add_facts

SIGNED_IN = 500
EMPTY = 3


@dataclass(frozen=True, slots=True)
class Scene:
    """Classes by how many have logged in them: ``full`` with those signed in among them,
    ``grown`` without, for first results of theirs; ``empty`` ones; a session's cookie of each
    who is signed in, and of members by how many results they have."""

    full: dict[int, int]
    grown: dict[int, int]
    empty: list[int]
    cookies: list[str]
    histories: dict[int, str]


def signed_in(user: User) -> SessionStore:
    """A session of somebody, not kept yet."""
    session = SessionStore()
    session[SESSION_KEY] = str(user.pk)
    session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[0]
    session[HASH_SESSION_KEY] = user.get_session_auth_hash()
    return session


def cookie(user: User) -> str:
    """The cookie of a new session of somebody."""
    session = signed_in(user)
    session.create()
    return f"{settings.SESSION_COOKIE_NAME}={session.session_key}"


def _members(gym: Gym, count: int, prefix: str) -> list[Membership]:
    users = User.objects.bulk_create(
        User(email=f"{prefix}{number}@example.org", password="!") for number in range(count)
    )
    return Membership.objects.bulk_create(
        Membership(gym=gym, user=user, display_name=f"Member {prefix}{number:04d}")
        for number, user in enumerate(users)
    )


@transaction.atomic
def make() -> Scene:
    """Fill the database."""
    now = timezone.now()
    gym = Gym.objects.create(name="Bench Street", slug="bench")
    coach = Membership.objects.create(
        gym=gym,
        user=User.objects.create_user("coach@example.org"),
        display_name="Coach",
        role=Role.COACH,
    )
    signed_in = _members(gym, SIGNED_IN, "s")
    others = _members(gym, SIZES[-1], "o")
    long_here = _members(gym, len(HISTORIES), "h")

    def opened() -> StreamedClass:
        made = create_class(gym=gym, coach=coach, starts_at=now, text=WORKOUT)
        return open_class(streamed_class=made, by=coach, now=now)

    full, grown = {}, {}
    for size in SIZES:
        full[size], grown[size] = opened(), opened()
        _log(full[size], (*signed_in, *others)[:size], coach)
        _log(grown[size], others[:size], coach)
    empty = [opened().pk for _ in range(EMPTY)]
    _past_classes(full[SIZES[0]], long_here, coach)
    return Scene(
        full={size: made.pk for size, made in full.items()},
        grown={size: made.pk for size, made in grown.items()},
        empty=empty,
        cookies=[cookie(member.user) for member in signed_in if member.user],
        histories={
            results: cookie(member.user)
            for results, member in zip(HISTORIES, long_here, strict=True)
            if member.user
        },
    )


def _log(streamed: StreamedClass, members: Sequence[Membership], coach: Membership) -> None:
    course, rules = course_of(streamed), rules_of(streamed)
    new = []
    for member, (mark, options) in zip(members, marks(len(members)), strict=True):
        data = ResultInput(mark=mark, options=options)
        read, scored = read_result(course, rules, data)
        texts = texts_of(course, read, data)
        new.append(NewFact(member.pk, None, texts, "", None, scored))
    add_facts(
        streamed_class=streamed, new=new, entered_by=coach, reason="bench", now=timezone.now()
    )


def _past_classes(like: StreamedClass, members: Sequence[Membership], coach: Membership) -> None:
    """Closed classes of the same workout; the one with most results logged in all of them."""
    now = timezone.now()
    classes = StreamedClass.objects.bulk_create(
        StreamedClass(
            gym_id=like.gym_id,
            workout=like.workout,
            coach=coach,
            credit_table_id=like.credit_table_id,
            starts_at=now - timedelta(days=number + 1),
            state=State.CLOSED,
            opened_at=now,
            closed_at=now,
        )
        for number in range(HISTORIES[-1])
    )
    for number, streamed in enumerate(classes):
        there = [m for m, most in zip(members, HISTORIES, strict=True) if number < most]
        _log(streamed, there, coach)
