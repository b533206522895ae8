"""Load the invented gym where there is no data yet, and say how to get in."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand
from django.db import transaction
from django.utils import timezone

from members.models import Membership, Role
from scoring.demo.load import is_loaded, load
from scoring.services.estimate_runs import ask
from scoring.services.estimating import estimate


class Command(BaseCommand):
    help = "Load an invented gym, if there is none, and print how to sign in."

    def handle(self, *args: Any, **options: Any) -> None:
        if not is_loaded():
            self.stdout.write("Loading an invented gym …")
            with transaction.atomic():
                gym = load(now=timezone.now().replace(microsecond=0))
            self.stdout.write("Working out what its results teach …")
            ask(gym=gym, by=None, now=timezone.now())
            estimate(gym_id=gym.pk, clock=timezone.now)
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
