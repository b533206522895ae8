"""Health: alive asks nothing, ready asks what people need, and neither tells who or what."""

import json
import socket

import pytest
from django.conf import settings
from django.core.cache import cache
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from gymsite import health

pytestmark = pytest.mark.django_db(transaction=True)
WORDS = {"good", "away", "not asked", "not all applied", "keeps nothing", "no answer in time"}


@pytest.fixture(autouse=True)
def _asked_anew():
    health._migrated.clear()
    yield
    health._migrated.clear()


def ready(client):
    answer = client.get("/health/ready/")
    assert answer["Content-Type"] == "application/json" and answer["Cache-Control"] == "no-store"
    told = answer.json()
    assert set(told) == {"status", "checks"} and set(told["checks"].values()) <= WORDS
    return answer.status_code, told["status"], told["checks"]


def broken(*_args, **_kwargs):
    raise ConnectionError("no route to db.internal for user board, Ana Sol")


@pytest.mark.django_db(databases=[])
def test_alive_asks_nothing_else(client):
    # Asking the database would be refused here.
    assert client.get("/health/live/").json() == {"status": "alive"}


def test_a_whole_site_is_ready(client):
    status, said, checks = ready(client)
    assert (status, said) == (200, "ready")
    assert checks == {"database": "good", "migrations": "good", "cache": "good"}


def test_without_its_database_it_is_not_ready_and_says_no_more(client, monkeypatch):
    monkeypatch.setattr(health, "_database", broken)
    status, said, checks = ready(client)
    assert (status, said, checks["database"]) == (503, "not ready", "away")
    assert checks["migrations"] == "not asked"
    assert "internal" not in json.dumps(checks) and "Ana" not in json.dumps(checks)


def test_a_migration_that_is_not_applied_is_waited_for(client):
    rows = MigrationRecorder(connection).migration_qs.filter(app="scoring")
    last = rows.order_by("-name").first()
    last.delete()
    try:
        status, said, checks = ready(client)
        assert (status, said) == (503, "not ready") and checks["migrations"] == "not all applied"
    finally:
        last.save(force_insert=True)
    assert ready(client)[:2] == (200, "ready")


def test_without_the_table_of_the_cache_a_small_site_is_not_ready(client, monkeypatch, settings):
    settings.REDIS_URL = ""
    monkeypatch.setattr(health, "_cache", broken)
    assert ready(client)[:2] == (503, "not ready")


def test_without_redis_a_bigger_site_is_degraded_and_still_ready(client, settings, monkeypatch):
    settings.REDIS_URL = "redis://127.0.0.1:1/0"
    monkeypatch.setattr(health, "_cache", broken)
    status, said, checks = ready(client)
    assert (status, said, checks["cache"]) == (200, "degraded", "away")


def test_without_its_broker_it_is_degraded_and_still_ready(client, settings):
    with socket.socket() as nobody:
        nobody.bind(("127.0.0.1", 0))
        port = nobody.getsockname()[1]
    from gymsite.celery import app

    settings.CELERY_TASK_ALWAYS_EAGER = False
    before = app.conf.broker_url
    app.conf.broker_url = f"redis://127.0.0.1:{port}/0"
    app.set_default()
    try:
        app._pool = None
        status, said, checks = ready(client)
    finally:
        app.conf.broker_url = before
        app._pool = None
    assert (status, said, checks["broker"]) == (200, "degraded", "away")


def test_a_broker_that_answers_is_good(settings, in_ci):
    url = settings.REDIS_URL
    if not url:
        return  # the run with Redis shows it
    from gymsite.celery import app

    before, app.conf.broker_url = app.conf.broker_url, url
    try:
        health._broker()
    finally:
        app.conf.broker_url = before


def test_a_database_that_keeps_it_waiting_is_not_waited_for(client, monkeypatch):
    from threading import Event

    let_go = Event()
    monkeypatch.setattr(health, "PATIENCE", 0.1)
    monkeypatch.setattr(health, "_database", let_go.wait)
    try:
        assert ready(client)[:2] == (503, "not ready")
        asked = health._asked
        assert ready(client)[0] == 503 and health._asked is asked  # shares the one that waits
    finally:
        let_go.set()
        health._asked.result(timeout=10)


def test_a_server_about_to_be_stopped_sends_visitors_elsewhere(client, settings, tmp_path):
    settings.DRAIN_FILE = str(tmp_path / "draining")
    assert ready(client)[:2] == (200, "ready")
    (tmp_path / "draining").touch()
    assert ready(client)[:2] == (503, "leaving")
    assert client.get("/health/live/").status_code == 200


def test_the_cache_is_really_asked(settings):
    health._cache()
    if settings.REDIS_URL:
        assert cache.get("health") == "good"


def test_nothing_of_it_needs_a_session(client):
    assert settings.SESSION_COOKIE_NAME not in client.get("/health/ready/").cookies
