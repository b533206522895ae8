"""A worker that is killed leaves no half estimate, and the next one finishes."""

import os
import signal
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
from django.db import connection

from scoring.models import EstimateRun, EstimateSnapshot
from scoring.services import estimating
from scoring.services.estimate_runs import waiting

from ..conftest import make_people
from .past_classes import held_class

WORKER = """
import os, signal
import django
django.setup()
from django.core.management import call_command
from scoring.services import estimating
real = estimating.{at}
def killed(*args, **kwargs):
    os.kill(os.getpid(), signal.SIGKILL)
estimating.{at} = killed
call_command("estimate", "--gym", "harbour")
"""


@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(connection.vendor != "sqlite", reason="a database file of its own")
@pytest.mark.parametrize("at", ["fit", "_keep"])
def test_a_killed_worker_leaves_nothing_and_the_next_finishes(at):
    """A real process, killed while it fits, or between the run's end and its snapshot."""
    people = make_people()
    for number in range(2):
        held_class(people, number)
    env = os.environ | {
        "DATABASE_URL": f"sqlite:///{connection.settings_dict['NAME']}",
        "DJANGO_SETTINGS_MODULE": "gymsite.settings.base",
        "SECRET_KEY": "tests",
    }
    done = subprocess.run(
        [sys.executable, "-c", WORKER.format(at=at)],
        cwd=Path(__file__).resolve().parents[2],
        env=env,
        check=False,
        capture_output=True,
        timeout=120,
    )
    assert done.returncode == -signal.SIGKILL, done.stderr.decode()[-500:]
    run = EstimateRun.objects.get()
    assert run.state == "fitting" and not EstimateSnapshot.objects.exists()
    assert waiting(now=run.held_until - timedelta(seconds=1)) == []
    later = run.held_until
    assert waiting(now=later) == [people.gym.pk]
    again = estimating.estimate(gym_id=people.gym.pk, clock=lambda: later)
    assert (again.pk, again.state, again.attempts) == (run.pk, "good", 2)
    assert EstimateSnapshot.objects.get().result_count == 6
