"""A gym of many members, a class in which all have logged and some in which nobody has."""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.utils import timezone

from bench.workload import WORKOUT, marks
from members.models import Gym, Membership, Role, User
from scoring.services.classes import create_class, open_class
from scoring.services.submitting import ResultInput, submit_result

EMPTY = 3


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


def make(count: int) -> dict[str, object]:
    """Fill the database; answers the classes and a session's cookie of each member."""
    now = timezone.now()
    gym = Gym.objects.create(name="Bench Street", slug="bench")
    coach = Membership.objects.create(
        gym=gym,
        user=User.objects.create_user("coach@example.org"),
        display_name="Coach",
        role=Role.COACH,
    )
    members = [
        Membership.objects.create(
            gym=gym,
            user=User.objects.create_user(f"m{number}@example.org"),
            display_name=f"Member {number:03d}",
        )
        for number in range(count)
    ]
    classes = []
    for _ in range(1 + EMPTY):
        made = create_class(gym=gym, coach=coach, starts_at=now, text=WORKOUT)
        classes.append(open_class(streamed_class=made, by=coach, now=now))
    for member, (mark, options) in zip(members, marks(count), strict=True):
        submit_result(
            streamed_class=classes[0],
            member=member,
            entered_by=member,
            data=ResultInput(mark=mark, options=options),
            key="",
            now=now,
        )
    return {
        "full": classes[0].pk,
        "empty": [made.pk for made in classes[1:]],
        "cookies": [cookie(m.user) for m in members if m.user],
    }
