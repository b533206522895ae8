"""A gym of thousands, all signed in, and one open class in which nobody has logged.

Some hundred have been there before, so that the gym has an estimate: each mark is compared with
it before it is kept, and each result when it is opened.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from allauth.account.models import EmailAddress
from django.conf import settings
from django.contrib.sessions.models import Session
from django.utils import timezone
from django.utils.crypto import get_random_string

from bench.scene import cookie, signed_in
from bench.workload import WORKOUT, marks
from members.models import Gym, Membership, Role, User
from scoring.models import StreamedClass
from scoring.services import estimate_runs, estimating
from scoring.services.classes import close_class, create_class, open_class
from scoring.services.submitting import ResultInput, submit_result

PAST_CLASSES = 3
WERE_THERE = 300


@dataclass(frozen=True, slots=True)
class Scene:
    streamed: StreamedClass
    coach: str
    cookies: list[str]
    keys: list[int]
    """The primary keys of the members, in the order of their cookies."""


def _session(user: User) -> Session:
    """A row of the session table, not kept yet."""
    store = signed_in(user)
    store._session_key = get_random_string(32)
    row: Session = store.create_model_instance(dict(store.items()))
    return row


def make(count: int) -> Scene:
    now = timezone.now()
    gym = Gym.objects.create(name="Rush Street", slug="rush")
    trainer = User.objects.create_user("coach@example.org")
    coach = Membership.objects.create(gym=gym, user=trainer, display_name="Coach", role=Role.COACH)
    users = [User(email=f"m{number}@example.org") for number in range(count)]
    for user in users:
        user.set_unusable_password()
    users = User.objects.bulk_create(users, batch_size=500)
    EmailAddress.objects.bulk_create(
        (EmailAddress(user=u, email=u.email, verified=True, primary=True) for u in users),
        batch_size=500,
    )
    members = Membership.objects.bulk_create(
        (
            Membership(gym=gym, user=user, display_name=f"Member {number:04d}")
            for number, user in enumerate(users)
        ),
        batch_size=500,
    )
    sessions = [_session(user) for user in users]
    Session.objects.bulk_create(sessions, batch_size=500)
    made = create_class(gym=gym, coach=coach, starts_at=now - timedelta(hours=1), text=WORKOUT)
    for weeks in range(PAST_CLASSES, 0, -1):
        at = now - timedelta(weeks=weeks)
        past = create_class(gym=gym, coach=coach, starts_at=at, text=WORKOUT)
        past = open_class(streamed_class=past, by=coach, now=at)
        there = members[:WERE_THERE]
        for member, (mark, options) in zip(there, marks(len(there)), strict=True):
            submit_result(
                streamed_class=past,
                member=member,
                entered_by=member,
                data=ResultInput(mark=mark, options=options),
                key=f"past-{weeks}",
                now=at,
            )
        close_class(streamed_class=past, by=coach, now=at)
    estimate_runs.ask(gym=gym, by=coach, now=now)
    estimating.estimate(gym_id=gym.pk, clock=timezone.now)
    return Scene(
        streamed=open_class(streamed_class=made, by=coach, now=now),
        coach=cookie(trainer),
        cookies=[f"{settings.SESSION_COOKIE_NAME}={row.session_key}" for row in sessions],
        keys=[member.pk for member in members],
    )
