"""``verify`` on a database in use: one moment of it, nothing written, nobody held up."""

import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import DatabaseError, connection, connections

from scoring.models import Result, Score
from scoring.verifying import findings
from scoring.verifying.sql import one_moment

from ..conftest import NOW
from .classes import log, make_class

ROOT = Path(__file__).resolve().parents[2]
pytestmark = pytest.mark.django_db(transaction=True)


def beside(work):
    """Do something by a connection of its own, as another process would."""
    from threading import Thread

    faults = []

    def run():
        try:
            work()
        except BaseException as fault:
            faults.append(fault)
        finally:
            connections.close_all()

    thread = Thread(target=run)
    thread.start()
    thread.join(timeout=15)
    assert not thread.is_alive(), "it was held up"
    assert not faults, faults


def test_nothing_can_be_written_meanwhile_not_even_by_mistake(people):
    with one_moment(), pytest.raises(DatabaseError):
        Score.objects.all().delete()
        people.gym.save()
    people.gym.save()  # and it can be again


def test_who_logs_meanwhile_is_neither_held_up_nor_seen_half(people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    with one_moment():
        assert Result.objects.count() == 1
        beside(lambda: log(streamed, people.ben, "2+5"))
        assert Result.objects.count() == 1 and Score.objects.count() == 1
    assert Result.objects.count() == 2
    assert list(findings(now=NOW)) == []


@pytest.mark.skipif(connection.vendor != "sqlite", reason="a file of SQLite's can be damaged here")
def test_a_damaged_file_is_found_by_the_command_of_a_process_of_its_own(people, tmp_path):
    copy = tmp_path / "copy.sqlite3"
    with connection.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(copy)])

    def verify():
        return subprocess.run(
            [sys.executable, "manage.py", "verify"],
            cwd=ROOT, capture_output=True, text=True, check=False,
            env={"DATABASE_URL": f"sqlite:///{copy}", "PATH": "", "LOG_LEVEL": "WARNING"},
        )  # fmt: skip

    fine = verify()
    assert fine.returncode == 0, fine.stdout + fine.stderr
    broken = sqlite3.connect(copy)
    broken.execute("PRAGMA writable_schema = ON")
    # The index says of itself that it holds another column than it does.
    broken.execute(
        "UPDATE sqlite_master SET sql = replace(sql, '\"display_name\"', '\"role\"') "
        "WHERE name = 'membership_gym_name'"
    )
    broken.commit()
    broken.close()
    told = verify()
    assert told.returncode == 1, told.stdout + told.stderr
    assert "database-damaged" in told.stdout and "membership_gym_name" in told.stdout
    assert "bring it back from a backup" in told.stdout
