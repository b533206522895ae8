"""A process that brings results in and is killed in the middle: another one goes on."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import connection

from scoring.models import Fact, ImportRun, Result, Score, Submission
from scoring.services.importing import confirm_import

from ..conftest import NOW, make_people
from .classes import make_class
from .test_importing import begin
from .told import chat, fill_gym, text_of

ROOT = Path(__file__).resolve().parents[2]

# Stops inside the third transaction, with its facts written and not committed.
WORKER = """
import sys, time
import django
from django.conf import settings
django.setup()
settings.DATABASES["default"]["NAME"] = sys.argv[1]
from django.db import connection
connection.settings_dict["NAME"] = sys.argv[1]
from scoring import tasks
from scoring.services import import_saving

import_saving.CHUNK = 10
real, calls = import_saving.add_facts, []

def stands_still(**kwargs):
    made = real(**kwargs)
    calls.append(made)
    if sys.argv[3] == "dies" and len(calls) == 3:
        print("in the middle", flush=True)
        time.sleep(600)
    return made

import_saving.add_facts = stands_still
tasks.save_import(int(sys.argv[2]))
print("done", flush=True)
"""


def worker(run, how):
    name = str(connection.settings_dict["NAME"])
    return subprocess.Popen(
        [sys.executable, "-c", WORKER, name, str(run.pk), how],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "DJANGO_SETTINGS_MODULE": "gymsite.settings.test"},
    )


@pytest.mark.django_db(transaction=True)
def test_a_killed_import_goes_on_in_another_process_and_doubles_nothing():
    people = make_people()
    streamed = make_class(people)
    fill_gym(people.gym)
    run = begin(streamed, people, text_of(chat(90)))
    confirm_import(run=run, by=people.coach, reason="", now=NOW)
    connection.close()

    first = worker(run, "dies")
    try:
        assert first.stdout.readline().strip() == "in the middle"
    finally:
        first.send_signal(signal.SIGKILL)
        first.wait(timeout=30)
        first.stdout.close()
    assert first.returncode == -signal.SIGKILL
    run = ImportRun.objects.get()
    assert run.state == "saving"
    counted = [m.objects.count() for m in (Result, Fact, Score, Submission)]
    assert counted == [20, 20, 20, 20]  # two whole parts, nothing of the third
    assert run.lines.filter(state="saved").count() == 20
    connection.close()

    second = worker(run, "lives")
    told, _ = second.communicate(timeout=120)
    assert (second.returncode, told.strip()) == (0, "done")
    run = ImportRun.objects.get()
    assert run.state == "done" and run.lines.filter(state="good").count() == 0
    counted = [m.objects.count() for m in (Result, Fact, Score, Submission)]
    assert counted == [60, 60, 60, 60]
    assert not Fact.objects.filter(number__gt=1).exists()
