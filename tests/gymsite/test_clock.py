"""The clock of a site without a broker: what is due is started, again and again."""

import os
import subprocess
import sys
from datetime import timedelta

from celery import current_app
from django.conf import settings

from gymsite import clock
from gymsite.clock import Clock

KNOWN = """
import gymsite.wsgi
from celery import current_app
from django.conf import settings
names = [entry["task"] for entry in settings.CELERY_BEAT_SCHEDULE.values()]
print(*sorted(name for name in names if name in current_app.tasks))
"""
SCHEDULE = {
    "one": {"task": "close", "schedule": 60.0},
    "two": {"task": "tell", "schedule": timedelta(minutes=15)},
}


def test_everything_starts_at_first_and_then_each_at_its_own_pace():
    started = []
    own = Clock(SCHEDULE, started.append)
    assert own.tick(1000) == ["close", "tell"]
    assert own.tick(1059) == []
    assert own.tick(1060) == ["close"]
    assert own.tick(1900) == ["close", "tell"]
    assert started == ["close", "tell", "close", "close", "tell"]


def test_a_task_that_fails_keeps_no_other_from_its_turn_and_has_its_own_again():
    def start(name):
        if name == "close":
            raise OSError("the disk is full")

    own = Clock(SCHEDULE, start)
    assert own.tick(0) == ["close", "tell"]
    assert own.tick(60) == ["close"]


def test_it_stands_still_where_a_broker_has_workers(settings):
    settings.CELERY_TASK_ALWAYS_EAGER = False
    assert clock.start() is None
    settings.CELERY_TASK_ALWAYS_EAGER, settings.OWN_CLOCK = True, False
    assert clock.start() is None


def test_a_web_server_knows_every_task_that_is_scheduled():
    """In a process of its own: here everything is imported already."""
    told = subprocess.run(
        [sys.executable, "-c", KNOWN], capture_output=True, text=True, check=True,
        env=os.environ | {"DJANGO_SETTINGS_MODULE": "gymsite.settings.base", "REDIS_URL": ""},
    )  # fmt: skip
    assert told.stdout.split() == sorted(e["task"] for e in settings.CELERY_BEAT_SCHEDULE.values())


def test_a_due_task_runs_in_the_clocks_own_thread(transactional_db):
    current_app.loader.import_default_modules()
    clock._run("scoring.close_due")
