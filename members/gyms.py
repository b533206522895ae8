"""What an owner sets for the whole gym."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.timezone import now as clock_now

from members.audit import record
from members.models import Gym, Membership, ShownAs
from members.problems import Refused


def change_gym(*, by: Membership, shown_as_default: str, now: datetime | None = None) -> Gym:
    """How who joins from now on is shown on boards; who is in keeps what they chose.

    Raises ``Refused`` for somebody who is no owner, or for no way to be shown.
    """
    if not by.is_owner:
        raise Refused("", "Only an owner of the gym changes this.", kind="forbidden")
    if shown_as_default not in ShownAs.values:
        raise Refused("shown_as_default", "That is no way to be shown.", "Choose one of the three.")
    before = by.gym.shown_as_default
    if before == shown_as_default:
        return by.gym
    with transaction.atomic():
        by.gym.shown_as_default = shown_as_default
        by.gym.save(update_fields=["shown_as_default"])
        record(
            gym=by.gym,
            by=by,
            what="change-gym",
            details={"from": before, "to": shown_as_default},
            now=now or clock_now(),
        )
    return by.gym
