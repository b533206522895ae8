"""A worker that is killed while it changes boards: a real process, a real database file."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection

from scoring.models import RecomputeRun, Score
from scoring.services.credit_changes import EntryInput, accept, go_on, propose, seen_of
from scoring.services.recompute import differences

from ..conftest import NOW, add_member, make_people
from .classes import log, make_class
from .credit_scenes import ROCKS

pytestmark = pytest.mark.django_db(transaction=True)

WORKER = """
import os, signal
import django
django.setup()
from django.core.management import call_command
from scoring.services import recompute
real, calls = recompute.score, []
def killed(*args):
    calls.append(args)
    if len(calls) == {at}:
        os.kill(os.getpid(), signal.SIGKILL)
    return real(*args)
recompute.score, recompute.CHUNK = killed, 3
call_command("credit_changes")
"""


def worker(at):
    """A process that goes on with changes and is killed as it scores its result number ``at``."""
    env = os.environ | {
        "DATABASE_URL": f"sqlite:///{connection.settings_dict['NAME']}",
        "DJANGO_SETTINGS_MODULE": "gymsite.settings.base",
        "SECRET_KEY": "tests",
    }
    return subprocess.run(
        [sys.executable, "-c", WORKER.format(at=at)],
        cwd=Path(__file__).resolve().parents[2],
        env=env,
        check=False,
        capture_output=True,
        timeout=120,
    )


@pytest.mark.skipif(connection.vendor != "sqlite", reason="a database file of its own")
def test_a_killed_worker_leaves_whole_chunks_and_the_next_goes_on():
    people = make_people()
    classes = [make_class(people, ROCKS) for _ in range(2)]
    members = [*people.members, *(add_member(people.gym, f"M {n}") for n in range(4))]
    for streamed in classes:
        for number, member in enumerate(members):
            log(streamed, member, f"{number + 2}+0", "tuck rock")
    change = propose(
        gym=people.gym,
        by=people.coach,
        entries=[EntryInput("hollow rock", "tuck rock", "0.95")],
        reason="they are hard",
        scope="all",
        now=NOW,
    )
    go_on(change_id=change.pk, now=NOW)
    change.refresh_from_db()
    change = accept(change=change, by=people.coach, seen=seen_of(change), now=NOW)

    # Of seven results in chunks of three: the second chunk of the first class dies in its
    # middle, then, going on there, the first chunk of the second class.
    for at, moved in ((5, 3), (6, 7)):
        died = worker(at)
        assert died.returncode == -signal.SIGKILL, died.stderr
        assert Score.objects.filter(credit_table=change.to_version).count() == moved
        change.refresh_from_db()
        assert change.state == "working"
    call_command("credit_changes")
    change.refresh_from_db()
    assert change.state == "done"
    assert sorted(RecomputeRun.objects.values_list("done", "moved")) == [(7, 7), (7, 7)]
    assert [row.moved for row in change.classes.all()] == [7, 7]
    for streamed in classes:
        streamed.refresh_from_db()
        assert differences(streamed_class=streamed) == []
    assert set(Score.objects.values_list("credit_table", flat=True)) == {change.to_version_id}
