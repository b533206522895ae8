"""Closed classes of the past, with results that estimates are made from."""

import random
from datetime import timedelta

from scoring.services import estimating
from scoring.services.classes import close_class
from scoring.services.estimate_runs import ask

from ..conftest import NOW
from .classes import log, make_class


def held_class(people, number, members=None, *, is_closed=True):
    """A class of the past with results, closed."""
    starts_at = NOW - timedelta(days=70) + number * timedelta(days=3)
    streamed = make_class(people, starts_at=starts_at)
    dice = random.Random(number)
    for member in members or people.members:
        place = dice.randrange(100, 220)
        scaled = "tuck rock" if member == people.ben else ""
        mark = f"{(place - 132) // 24}+{(place - 132) % 24}" if place >= 132 else f"{place} reps"
        log(streamed, member, mark, scaled)
    if is_closed:
        streamed = close_class(streamed_class=streamed, by=people.coach, now=NOW)
    return streamed


def made(gym, now=NOW):
    """The run of an estimate that is asked for and worked out."""
    ask(gym=gym, by=None, now=now)
    return estimating.estimate(gym_id=gym.pk, clock=lambda: now)
