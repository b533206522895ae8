"""/metrics/: what was counted and what waits, even when the database can't be asked."""

import json
import re
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest
from celery import shared_task

from gymsite import backup_age, metrics, pool_metrics, task_metrics
from members.models import Membership

HEAD = {"Authorization": "Bearer for-the-scraper"}
NOW = datetime(2026, 11, 24, 18, 30, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _asked_anew():
    metrics.kept_watched.forget()
    metrics.kept_behind.forget()
    yield
    metrics.kept_watched.forget()
    metrics.kept_behind.forget()


def scraped(client):
    """Samples by name and labels as Prometheus writes them, their values as numbers."""
    answer = client.get("/metrics/", headers=HEAD)
    assert answer.status_code == 200 and answer["Cache-Control"] == "no-store"
    lines = answer.content.decode().splitlines()
    return dict(
        (name, float(value)) for name, value in
        (line.rsplit(" ", 1) for line in lines if line and not line.startswith("#"))
    )  # fmt: skip


def test_what_waits_and_what_was_counted_are_told_together(client, people):
    told = scraped(client)
    assert told["classboard_figures_read"] == 1
    for name in (
        "classboard_classes_open", "classboard_messages_waiting",
        "classboard_message_oldest_seconds", 'classboard_work_oldest_seconds{kind="import"}',
        'classboard_work_unfinished{kind="credit change"}', "classboard_estimates_behind",
        "classboard_estimate_behind_seconds", 'classboard_results_logged_total{way="import"}',
    ):  # fmt: skip
        assert name in told, name


def test_nobody_is_named_in_it(client, people):
    text = client.get("/metrics/", headers=HEAD).content.decode()
    for member in Membership.objects.all():
        assert member.display_name not in text
    assert people.gym.slug not in text and "@" not in text


def test_it_asks_the_database_once_in_some_seconds(
    client, people, django_assert_num_queries, monkeypatch
):
    scraped(client)
    with django_assert_num_queries(0):
        scraped(client)
    monkeypatch.setattr(metrics, "monotonic", lambda now=metrics.monotonic: now() + 6)
    with django_assert_num_queries(8):
        scraped(client)


def test_a_database_that_is_away_hides_only_what_it_would_have_told(client, db, monkeypatch):
    def away(**_):
        raise OSError("no route to db.internal")

    monkeypatch.setattr(metrics.kept_watched, "_ask", away)
    told = scraped(client)
    assert told["classboard_figures_read"] == 0 and "classboard_classes_open" not in told
    assert 'classboard_results_logged_total{way="page"}' in told


class TestBackups:
    def made(self, folder, name, **manifest):
        (folder / name).mkdir()
        (folder / name / "manifest.json").write_text(json.dumps(manifest))

    def test_without_a_folder_nothing_is_told(self, settings, client, db):
        settings.BACKUP_FOLDER = ""
        assert backup_age.backup_age(NOW) is None
        assert "classboard_backup_age_seconds" not in scraped(client)

    def test_the_newest_whole_one_counts(self, settings, tmp_path):
        settings.BACKUP_FOLDER = str(tmp_path)
        assert backup_age.backup_age(NOW) == float("inf")
        self.made(tmp_path, "a", taken_at=(NOW - timedelta(hours=30)).isoformat())
        self.made(tmp_path, "b", taken_at=(NOW - timedelta(hours=2)).isoformat())
        self.made(tmp_path, "c", nothing="of it")
        (tmp_path / "half").mkdir()
        (tmp_path / "c" / "manifest.json").write_text("{")
        assert backup_age.backup_age(NOW) == 7200.0

    def test_none_at_all_is_infinitely_old_to_prometheus(self, settings, tmp_path, client, db):
        settings.BACKUP_FOLDER = str(tmp_path)
        assert scraped(client)["classboard_backup_age_seconds"] == float("inf")


class TestTasks:
    def test_how_long_they_take_and_whether_they_fail(self, client, db):
        @shared_task(name="tests.good")
        def good():
            return 1

        @shared_task(name="tests.bad")
        def bad():
            raise ValueError("Ana Sol")

        good.apply()
        bad.apply(throw=False)
        told = scraped(client)
        assert told['classboard_task_seconds_count{state="success",task="tests.good"}'] == 1
        assert told['classboard_task_seconds_count{state="failure",task="tests.bad"}'] == 1
        assert told['classboard_tasks_failed_total{task="tests.bad"}'] == 1

    def test_the_wait_is_from_the_asking_and_never_negative(self, client, db, monkeypatch):
        headers = {}
        monkeypatch.setattr(task_metrics.time, "time", lambda: 1000.0)
        task_metrics._sent(headers=headers)
        for now in (1002.0, 999.0):  # the second machine's clock is slow
            monkeypatch.setattr(task_metrics.time, "time", lambda now=now: now)
            task_metrics._begun(
                task=SimpleNamespace(name="tests.waits", request=SimpleNamespace(**headers))
            )
        told = scraped(client)
        assert told['classboard_task_wait_seconds_count{task="tests.waits"}'] == 2
        assert told['classboard_task_wait_seconds_sum{task="tests.waits"}'] == 2.0


class TestPool:
    class Stood:
        vendor = "postgresql"

        def __init__(self, **stats):
            self.pool = self
            self.stats = stats

        def get_stats(self):
            return self.stats

    def test_what_grew_is_added_and_what_is_there_is_told(self, client, db, monkeypatch):
        monkeypatch.setattr(pool_metrics, "_before", {})
        name = "classboard_database_pool_wait_seconds_total"
        before = scraped(client).get(name, 0.0)
        for queued, waited in ((1, 500), (3, 2500), (3, 2500)):
            stood = self.Stood(
                pool_size=5, pool_available=2, requests_queued=queued, requests_wait_ms=waited
            )
            monkeypatch.setattr(pool_metrics, "connection", stood)
            pool_metrics.take()
        told = scraped(client)
        assert told[name] - before == pytest.approx(2.5)
        assert told['classboard_database_pool_connections{state="in use"}'] == 3
        assert told['classboard_database_pool_connections{state="idle"}'] == 2

    def test_a_real_pool_is_read(self, client, people, settings):
        from django.db import connection

        pool_metrics.take()
        told = scraped(client)
        has_pool = connection.vendor == "postgresql"
        name = 'classboard_database_pool_connections{state="in use"}'
        assert (told.get(name, 0) >= 1) is has_pool or not has_pool


def test_a_line_of_it_is_what_prometheus_reads(client, db):
    """Names and labels by https://prometheus.io/docs/concepts/data_model/."""
    for name in scraped(client):
        assert re.fullmatch(r"[a-zA-Z_:][a-zA-Z0-9_:]*(\{[^{}]*\})?", name.replace("{}", "")) or (
            "<" in name or "(" in name
        ), name
