"""Load the invented gym where there is no data yet, and say how to get in."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand
from django.db import transaction
from django.utils import timezone

from members.models import Gym, Membership, Role
from scoring.demo.load import is_loaded, load
from scoring.models import StreamedClass
from scoring.selectors.forecast_rows import forecast_rows
from scoring.selectors.questions import questions_to_keep
from scoring.services.estimate_runs import ask
from scoring.services.estimating import estimate
from scoring.services.forecasting import keep_forecast
from scoring.services.questions import keep_questions

FORETOLD = 9
"""So many of the last classes are forecast before they are run, by an estimate a week."""


def _learn(gym: Gym, now: datetime) -> None:
    ask(gym=gym, by=None, now=now)
    estimate(gym_id=gym.pk, clock=lambda: now)


def _foretell(streamed: StreamedClass, left: int) -> None:
    """As it goes in a gym: what was learned by then says what to expect."""
    if left >= FORETOLD:
        return
    if left % 3 == 2:
        _learn(streamed.gym, streamed.starts_at)
    found = forecast_rows(class_id=streamed.pk)
    if found is not None:
        keep_forecast(record=found[0], lines=found[1], now=streamed.starts_at)


class Command(BaseCommand):
    help = "Load an invented gym, if there is none, and print how to sign in."

    def handle(self, *args: Any, **options: Any) -> None:
        if not is_loaded():
            self.stdout.write("Loading an invented gym, and what its results teach …")
            with transaction.atomic():
                gym = load(now=timezone.now().replace(microsecond=0), opened=_foretell)
            now = timezone.now()
            keep_questions(asked=questions_to_keep(gym_id=gym.pk, now=now), now=now)
            _learn(gym, now)
        people = Membership.objects.filter(gym__is_demo=True, user__isnull=False).order_by("pk")
        coach = people.filter(role=Role.COACH).first()
        member = people.filter(role=Role.MEMBER).first()
        owner = people.filter(role=Role.OWNER).first()
        if coach is None or member is None or coach.user is None or member.user is None:
            return
        self.stdout.write("Sign in with an e-mail address; the code is printed here.")
        self.stdout.write(f"  as a coach:  {coach.user.email}")
        if owner is not None and owner.user is not None:
            self.stdout.write(f"  as an owner: {owner.user.email}")
        self.stdout.write(f"  as a member: {member.user.email}")
