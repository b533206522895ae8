"""Beat goes on when the clock is set back, and starts nothing twice for it."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from celery import Celery
from django.conf import settings

from gymsite.beat import Scheduler

NOON = datetime(2026, 11, 24, 12, 0, tzinfo=UTC)


@pytest.fixture
def beat(tmp_path, monkeypatch):
    app = Celery(broker="memory://", set_as_current=False)
    app.conf.beat_schedule = {
        "close": {"task": "close", "schedule": 60.0},
        "tell": {"task": "tell", "schedule": 900.0},
    }
    started = []
    monkeypatch.setattr(
        Scheduler, "apply_entry", lambda self, entry, **kw: started.append(entry.name)
    )
    monkeypatch.setattr(Scheduler, "producer", None)

    def make():
        return Scheduler(app, schedule_filename=str(tmp_path / "schedule"))

    return make, started


def run(scheduler, clock, seconds):
    """Let so much time pass, asking as beat does."""
    left = float(seconds)
    while left > 0:
        step = min(max(scheduler.tick(), 0.0), left)
        clock.shift(timedelta(seconds=step + 0.011))
        left -= step + 0.011


def test_the_settings_name_it():
    assert settings.CELERY_BEAT_SCHEDULER == "gymsite.beat:Scheduler"


@pytest.mark.parametrize("is_started_anew", [False, True])
def test_after_two_hours_set_back_each_task_has_its_turn_again(beat, is_started_anew):
    make, started = beat
    with time_machine.travel(NOON, tick=False) as clock:
        scheduler = make()
        run(scheduler, clock, 200)
        assert started == ["close"] * 3
        started.clear()
        clock.shift(timedelta(hours=-2))
        if is_started_anew:
            scheduler.close()
            scheduler = make()
        run(scheduler, clock, 1000)
        scheduler.close()
    assert started.count("tell") == 1
    assert 15 <= started.count("close") <= 16
