"""Estimates in operation: when they are made, of what, and that nothing is made twice."""

import os
import random
import signal
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from io import StringIO
from pathlib import Path

import numpy as np
import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction

from members.models import AuditEntry, Membership
from scoring import enqueue, snapshots, tasks
from scoring.core.estimation.packing import unpacked
from scoring.core.estimation.ways import Way
from scoring.models import (
    Erasure,
    EstimateRun,
    EstimateSnapshot,
    Fact,
    Result,
    StreamedClass,
)
from scoring.problems import Refused
from scoring.selectors import estimates
from scoring.services import estimate_reading, estimate_runs, estimating
from scoring.services.classes import close_class
from scoring.services.erasing import erase
from scoring.services.estimate_runs import (
    FITTING,
    READING,
    Lost,
    ask,
    ask_nightly,
    get_on,
    take,
    waiting,
)
from scoring.services.own_data import own_data

from ..conftest import NOW, add_member, make_people
from .classes import log, make_class

WEEK = timedelta(days=7)


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


@pytest.fixture
def past(people):
    for number in range(4):
        held_class(people, number)
    return people


def test_a_class_that_closes_leaves_a_snapshot(past):
    run = EstimateRun.objects.get()
    assert run.state == "waiting" and not EstimateSnapshot.objects.exists()
    assert tasks.estimate_due() == 1  # the other gym's night is due too, but it has no results
    run.refresh_from_db()
    assert run.state == "good" and run.done == run.total == 4
    row = EstimateSnapshot.objects.get()
    last = StreamedClass.objects.order_by("starts_at").last()
    assert (row.gym, row.until) == (past.gym, last.starts_at)
    assert (row.result_count, row.member_count, row.class_count) == (12, 3, 4)
    held = estimates.held(gym_id=past.gym.pk)
    assert not held.is_prior and held.results == 12
    levels = held.estimate.levels
    at = held.member_at(past.ana.pk)
    days = levels.day[levels.start[at] : levels.start[at + 1]]
    assert [snapshots.day_of(day) for day in days] == [
        row.starts_at.date() for row in StreamedClass.objects.order_by("starts_at")
    ]
    assert held.class_at(last.pk) == 3
    ways = held.estimate.ways
    assert held.estimate.used[ways.position(Way("hollow rock", "tuck rock"))] == 4
    assert held.estimate.used[ways.position(Way("hollow rock"))] == 8
    for result in Result.objects.all():
        assert np.isfinite(held.estimate.expected[held.result_at(result.pk)])
