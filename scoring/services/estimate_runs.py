"""The ledger of estimates: who works on one, how far it is, and which nobody is at any more.

A worker holds a run for a while and says so again as it gets on. A run whose worker died is
held by nobody once that while is over, and is taken up by the next; whatever the dead one
would still do is refused, since it holds nothing.
"""

from __future__ import annotations

import logging
from datetime import datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

from django.db import IntegrityError, transaction
from django.db.models import Exists, F, Max, OuterRef, Q

from members.models import Gym, Membership
from scoring import access
from scoring.models import EstimateRun, Result
from scoring.problems import refuse

logger = logging.getLogger(__name__)

READING = timedelta(minutes=5)
"""How long a run is held after it last got on with reading."""

FITTING = timedelta(minutes=30)
"""How long it is held while it is worked out: a million results take some minutes."""

MOST_ATTEMPTS = 3
"""A run whose worker died so often would kill the next one too."""

NIGHT = 3
"""From this hour of the gym's day on the night's estimate is due."""

RUNS_KEPT = timedelta(days=30)
"""How long runs without a snapshot are kept."""


class Lost(Exception):
    """Another worker has taken the run over."""


@transaction.atomic
def ask(*, gym: Gym, by: Membership | None, now: datetime) -> EstimateRun:
    """Ask for an estimate of all that is known now; the one that waits will do.

    One that is being worked out may have read too early: it is done once more after it.

    Raises ``Refused`` for anybody but a coach; ``by`` is ``None`` for the service itself.
    """
    if by is not None and not (access.may_manage_gym(by) and by.gym_id == gym.pk):
        raise refuse("", "Only a coach of this gym can do that.", kind="forbidden")
    unfinished = EstimateRun.objects.select_for_update().filter(gym=gym, finished_at=None)
    run = unfinished.first()
    if run is None:
        try:
            with transaction.atomic():
                return EstimateRun.objects.create(gym=gym, by=by, asked_at=now)
        except IntegrityError:  # another asked just now
            run = unfinished.get()
    if run.state != EstimateRun.State.WAITING:
        EstimateRun.objects.filter(pk=run.pk, finished_at=None).update(again=True)
        run.refresh_from_db()
    return run


def take(*, gym_id: int, now: datetime) -> EstimateRun | None:
    """Hold a gym's unfinished run, ``None`` where there is none or somebody is at it."""
    run = EstimateRun.objects.filter(_free(now), gym=gym_id, finished_at=None).first()
    if run is None:
        return None
    if run.attempts >= MOST_ATTEMPTS:
        logger.error("estimate of gym %s: its worker died %s times", gym_id, run.attempts)
        fail(run=run, why="The program that worked on it was stopped each time.", now=now)
        return None
    held = EstimateRun.objects.filter(pk=run.pk, holder=run.holder, finished_at=None).update(
        holder=uuid4().hex,
        held_until=now + READING,
        state=EstimateRun.State.GATHERING,
        attempts=F("attempts") + 1,
        again=False,
        done=0,
    )
    if not held:
        return None  # another was quicker
    run.refresh_from_db()
    return run


def _free(now: datetime) -> Q:
    """Held by nobody. Nobody holds a run for longer than fitting takes: one that seems to be was
    taken before the clock was set back, and whoever did will find that it lost it."""
    over = Q(held_until__lte=now) | Q(held_until__gt=now + FITTING)
    return Q(held_until=None) | over


def get_on(*, run: EstimateRun, now: datetime, **fields: object) -> None:
    """Say how far a run is, and hold it on. Raises ``Lost`` where it is another's by now."""
    is_fitting = fields.get("state", run.state) == EstimateRun.State.FITTING
    fields["held_until"] = now + (FITTING if is_fitting else READING)
    own = EstimateRun.objects.filter(pk=run.pk, holder=run.holder, finished_at=None)
    if not own.update(**fields):
        raise Lost
    for name, value in fields.items():
        setattr(run, name, value)


@transaction.atomic
def finish(*, run: EstimateRun, state: str, now: datetime, why: str = "") -> None:
    """End a run; where something changed meanwhile, the next one waits at once.

    Raises ``Lost`` where it is another's by now: then nothing is written.
    """
    own = EstimateRun.objects.filter(pk=run.pk, holder=run.holder, finished_at=None)
    if not own.update(state=state, why=why[:500], held_until=None, finished_at=now):
        raise Lost
    run.refresh_from_db()
    if run.again:
        EstimateRun.objects.create(gym_id=run.gym_id, asked_at=now)


def fail(*, run: EstimateRun, why: str, now: datetime) -> None:
    """End a run that can't be done; the next night tries anew."""
    try:
        finish(run=run, state=EstimateRun.State.FAILED, why=why, now=now)
    except Lost:
        pass


def waiting(*, now: datetime) -> list[int]:
    """Gyms with a run that nobody is at."""
    rows = EstimateRun.objects.filter(_free(now), finished_at=None).order_by("asked_at", "pk")
    return list(rows.values_list("gym_id", flat=True))


def ask_nightly(*, now: datetime) -> list[int]:
    """Ask for the night's estimate of each gym where it is due; answers their keys."""
    asked = []
    logged = Result.objects.filter(streamed_class__gym=OuterRef("pk"))
    gyms = Gym.objects.filter(Exists(logged)).annotate(last=Max("estimate_runs__asked_at"))
    for gym in gyms.order_by("pk"):
        here = now.astimezone(ZoneInfo(gym.timezone))
        night = here.replace(hour=NIGHT, minute=0, second=0, microsecond=0)
        if night > here:
            night -= timedelta(days=1)
        if gym.last is None or gym.last < night:
            ask(gym=gym, by=None, now=now)
            asked.append(gym.pk)
    EstimateRun.objects.filter(snapshot=None, finished_at__lt=now - RUNS_KEPT).delete()
    return asked
