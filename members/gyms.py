"""What an owner sets for the whole gym."""

from __future__ import annotations

from members.models import Gym, Membership, ShownAs
from members.problems import Refused


def change_gym(*, by: Membership, shown_as_default: str) -> Gym:
    """How who joins from now on is shown on boards; who is in keeps what they chose.

    Raises ``Refused`` for somebody who is no owner, or for no way to be shown.
    """
    if not by.is_owner:
        raise Refused("", "Only an owner of the gym changes this.", kind="forbidden")
    if shown_as_default not in ShownAs.values:
        raise Refused("shown_as_default", "That is no way to be shown.", "Choose one of the three.")
    by.gym.shown_as_default = shown_as_default
    by.gym.save(update_fields=["shown_as_default"])
    return by.gym
