"""What a site of these tests holds, and acts in it; run in the site's own environment."""

from __future__ import annotations

from collections import Counter
from datetime import time, timedelta

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.core.management import call_command
from django.db.models import F
from django.utils import timezone

from members.devices import make_token
from members.models import Gym, Membership, Role, User
from scoring import enqueue
from scoring.models import (
    DataExport,
    EstimateRun,
    ImportRun,
    Message,
    MessageSettings,
    RecomputeRun,
    Score,
    StreamedClass,
)
from scoring.services.classes import create_class, open_class
from scoring.services.estimate_runs import ask
from scoring.services.import_reading import read_chunk
from scoring.services.importing import confirm_import, start_import
from scoring.services.submitting import ResultInput, submit_result

from .recount import faults

WORKOUT = """Two ladders and a tide
cap 18:00

18-12-6
goblet squat @ 20 kg
hollow rock
  or tuck rock, credit 0.75

amrap in the time left
4 push press @ 16 kg
8 reverse lunge
12 sit-up
"""
MEMBERS = 30


def _cookie(user: User) -> str:
    session = SessionStore()
    session[SESSION_KEY] = str(user.pk)
    session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[0]
    session[HASH_SESSION_KEY] = user.get_session_auth_hash()
    session.create()
    return f"{settings.SESSION_COOKIE_NAME}={session.session_key}"


def _person(gym: Gym, name: str, role: str = Role.MEMBER) -> Membership:
    user = User.objects.create_user(f"{name.lower().replace(' ', '.')}@example.org")
    user.emailaddress_set.update(verified=True)
    member = Membership.objects.create(gym=gym, user=user, display_name=name, role=role)
    # No quiet hours: these tests run at any hour.
    MessageSettings.objects.create(member=member, quiet_from=time(0), quiet_until=time(0))
    return member


def make() -> dict[str, object]:
    """A gym with members and an open class, on an empty database; what a client needs."""
    call_command("migrate", verbosity=0)
    call_command("createcachetable")
    now = timezone.now()
    gym = Gym.objects.create(name="Quay Street", slug="quay")
    coach = _person(gym, "Carl Coach", Role.COACH)
    members = [_person(gym, f"Member {number:02d}") for number in range(MEMBERS)]
    made = create_class(gym=gym, coach=coach, starts_at=now - timedelta(minutes=20), text=WORKOUT)
    opened = open_class(streamed_class=made, by=coach, now=now)
    everybody = [coach, *members]
    return {
        "class": opened.pk,
        "coach": make_token(user=coach.user).token,
        "tokens": [make_token(user=member.user).token for member in members],
        "cookies": [_cookie(member.user) for member in everybody],
    }


def _class(pk: int) -> StreamedClass:
    return StreamedClass.objects.select_related("gym", "workout", "credit_table", "coach").get(
        pk=pk
    )


def another_class(minutes: int | None = None) -> int:
    """One more open class; with ``minutes`` it closes by itself so far from now."""
    now = timezone.now()
    coach = Membership.objects.get(role=Role.COACH)
    made = create_class(
        gym=coach.gym,
        coach=coach,
        starts_at=now - timedelta(minutes=5),
        text=WORKOUT,
        closes_at=None if minutes is None else now + timedelta(minutes=minutes),
    )
    return int(open_class(streamed_class=made, by=coach, now=now).pk)


def log_all(class_id: int) -> int:
    """Every member logs; how many."""
    streamed = _class(class_id)
    members = Membership.objects.filter(gym=streamed.gym, role=Role.MEMBER).order_by("pk")
    for number, member in enumerate(members):
        mark, options = f"{number // 24 + 1}+{number % 24}", "tuck rock" if number % 2 else ""
        submit_result(
            streamed_class=streamed, member=member, entered_by=member, key="",
            data=ResultInput(mark, options=options), now=timezone.now(),
        )  # fmt: skip
    return len(members)


def score_by_older_rules(class_id: int) -> None:
    """As an older program left the scores: each is off."""
    Score.objects.filter(streamed_class=class_id).update(key=F("key") - 1, rules_version=0)


def confirm_an_import(class_id: int) -> int:
    """Bring everybody's result in from a chat, read and confirmed; nothing of it is in yet."""
    streamed, now = _class(class_id), timezone.now()
    names = Membership.objects.filter(gym=streamed.gym, role=Role.MEMBER).values_list(
        "display_name", flat=True
    )
    text = "\n".join(f"{name}: 2+{number % 24}" for number, name in enumerate(names))
    run = start_import(
        streamed_class=streamed, by=streamed.coach, kind="chat", data=text.encode(), now=now
    )
    while read_chunk(pk=run.pk, now=now):
        pass
    confirm_import(run=run, by=streamed.coach, reason="", now=now)
    enqueue.work_on_import(pk=run.pk, state="saving")
    return int(run.pk)


def tell_opened(class_id: int) -> None:
    """Tell everybody that a class is open."""
    enqueue.class_opened(class_id=class_id)


def ask_estimate() -> None:
    """Ask for an estimate and begin it."""
    ask(gym=Gym.objects.get(), by=None, now=timezone.now())
    enqueue.estimate(gym_id=Gym.objects.get().pk)


def states() -> dict[str, object]:
    """How far each kind of long work is."""
    return {
        "recomputes": [
            [run.streamed_class_id, run.finished_at is not None, run.done]
            for run in RecomputeRun.objects.order_by("pk")
        ],
        "imports": [
            [run.state, run.lines.filter(state="saved").count()]
            for run in ImportRun.objects.order_by("pk")
        ],
        "estimates": list(EstimateRun.objects.order_by("pk").values_list("state", flat=True)),
        "copies": list(DataExport.objects.order_by("pk").values_list("state", flat=True)),
        "messages": Counter(Message.objects.values_list("state", flat=True)),
        "told": sorted(Message.objects.values_list("kind", "subject_key", "member")),
        "classes": dict(StreamedClass.objects.values_list("pk", "state")),
        "faults": faults(),
    }
