"""A small rush over real processes: nothing lost, nothing doubled, every rank right."""

import json
import os
import subprocess
import sys
from collections import Counter

import pytest
from django.conf import settings
from django.db import connection

from bench.rush_check import claims
from bench.rush_plan import plan
from bench.rush_scene import make
from bench.workload import ROOT
from members.models import Membership
from scoring.models import Score, Submission
from tests.scoring.classes import log

SMALL = ["--members", "40", "--seconds", "4", "--reads", "120", "--open"]


@pytest.fixture(scope="module")
def rush():
    """A rush of forty, in processes and on a database of its own."""
    environment = {
        **os.environ, "DJANGO_SETTINGS_MODULE": "bench.rush_settings", "LOG_LEVEL": "WARNING",
    }  # fmt: skip
    environment.pop("REDIS_PREFIX", None)
    done = subprocess.run(
        [sys.executable, "-m", "bench.rush", "--json", *SMALL],
        cwd=ROOT, env=environment, capture_output=True, text=True, check=False, timeout=600,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return json.loads(done.stdout)


def test_nothing_is_lost_or_doubled_and_every_rank_is_right(rush):
    assert [what for what, wrong in rush["claims"].items() if wrong] == []
    assert len(rush["claims"]) == 5
    assert rush["acknowledged"] == 40 + 4  # and what a coach corrected


def test_everything_that_was_asked_was_answered(rush):
    assert rush["errors"] == {}
    answered = {deed: len(taken) for deed, taken in rush["taken"].items()}
    wanted = Counter(step.deed for step in plan(members=40, reads=120, seconds=4))
    # A browser is sent to its result by the form, and opens it.
    assert answered == dict(wanted) | {"result": wanted["form"]}
    assert rush["statuses"]["result"] == {"200": wanted["form"]}
    assert sum(rush["statuses"]["form"].values()) == rush["statuses"]["form"]["302"]


def test_what_it_cost_is_told(rush):
    assert rush["cost"]["gunicorn"]["seconds"] > 0 and rush["cpu"] > 0
    assert ("Celery" in rush["cost"]) == bool(settings.REDIS_URL)


@pytest.mark.skipif(not settings.REDIS_URL, reason="needs REDIS_URL")
def test_it_leaves_nothing_in_redis(rush):
    import redis

    client = redis.Redis.from_url(settings.REDIS_URL)
    assert list(client.scan_iter("*bench-*celery*")) == []


def test_the_plan_is_the_same_every_time_and_asks_for_what_it_says():
    steps = plan(members=500, reads=2000, seconds=60)
    assert steps == plan(members=500, reads=2000, seconds=60)
    deeds = Counter(step.deed for step in steps if not step.is_repeat)
    assert deeds["form"] + deeds["program"] == 500 and deeds["correct"] == 20
    assert deeds["rows"] + deeds["page"] + deeds["board"] == 2000
    assert all(0 <= step.at <= 60 for step in steps)
    assert any(step.is_repeat for step in steps)
    first = {step.member: step.at for step in steps if step.deed in ("form", "program")}
    soon = sum(6 <= at <= 6 + 15 for at in first.values())
    assert soon > 250  # most right at the stream's end


@pytest.fixture
def logged(db):
    """A rush of three without a server, and what it was told."""
    scene = make(3)
    for number, pk in enumerate(scene.keys):
        log(scene.streamed, Membership.objects.get(pk=pk), f"{number * 7 % 5}+{number * 5 % 24}",
            "tuck rock" if number % 3 else "", key=f"rush-{number}")  # fmt: skip
    return scene, {"acknowledged": {str(n): [f"rush-{n}"] for n in range(3)}}


def wrong(scene, told, monkeypatch):
    monkeypatch.setattr("bench.rush_check._ranks", lambda *args: "")
    monkeypatch.setattr("bench.rush_check.PATIENCE", 0)
    monkeypatch.setattr("bench.rush_check.QUIET", 0)
    return [claim.what for claim in claims(scene, told, 0) if claim.wrong]


def test_a_lost_result_would_be_told(logged, monkeypatch):
    scene, told = logged
    assert wrong(scene, told, monkeypatch) == []
    lost = Submission.objects.get(key="rush-1").fact
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM scoring_submission WHERE fact_id = %s", [lost.pk])
    assert "every acknowledged result is kept once, as it was sent" in wrong(
        scene, told, monkeypatch
    )


def test_one_that_is_not_on_the_board_would_be_told(logged, monkeypatch):
    scene, told = logged
    Score.objects.get(streamed_class=scene.streamed, result__member=scene.keys[1]).delete()
    assert wrong(scene, told, monkeypatch) == [
        "every acknowledged result is kept once, as it was sent", "manage.py verify finds nothing",
    ]  # fmt: skip


def test_a_doubled_one_would_be_told(logged, monkeypatch):
    scene, told = logged
    member = Membership.objects.get(pk=scene.keys[1])
    log(scene.streamed, member, "1+1", key="rush-1-again")
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM scoring_submission WHERE key = 'rush-1-again'")
    assert wrong(scene, told, monkeypatch) == [
        "nobody has two results, no result a fact that nobody sent"
    ]
