"""A worker of Celery: its tasks carry the number of the request, and are counted together."""

import http.client

import pytest

from .running import free_port, running, until

pytestmark = pytest.mark.django_db(transaction=True)


def told(port):
    one = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    one.request("GET", "/metrics")
    text = one.getresponse().read().decode()
    one.close()
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    return {name: float(value) for name, value in (line.rsplit(" ", 1) for line in lines)}


def asked_for(client_folder, number):
    """Start the tasks as a request would, in a process of its own."""
    from pathlib import Path

    code = f"""
import django; django.setup()
from django.test import Client
answer = Client().get("/starts/", headers={{"X-Request-ID": "{number}"}})
assert answer.status_code == 200, answer
"""
    with running(Path(client_folder), "python", "-c", code) as one:
        assert one.process.wait(timeout=60) == 0, one.text
        return one.lines()


def test_tasks_are_logged_under_the_request_and_counted_by_all_processes(tmp_path):
    port = free_port()
    figures = tmp_path / "figures"
    figures.mkdir()
    with running(
        tmp_path, "celery", "-q", "-A", "gymsite", "worker", "--concurrency", "2",
        "--without-mingle", "--without-gossip", "--without-heartbeat",
        PROMETHEUS_MULTIPROC_DIR=str(figures), WORKER_METRICS=f"127.0.0.1:{port}",
        LOG_LEVEL="INFO",
    ) as worker:  # fmt: skip
        until(lambda: told(port) is not None, "the worker's figures")
        asked = asked_for(tmp_path, "from-the-proxy-2")
        good = 'classboard_task_seconds_count{state="success",task="real.good"}'
        bad = 'classboard_tasks_failed_total{task="real.bad"}'
        waited = 'classboard_task_wait_seconds_count{task="real.good"}'
        until(lambda: (found := told(port)).get(good) == 2.0 and found.get(bad) == 2.0, "the tasks")
        assert told(port)[waited] == 2.0
        worker.stop()
    enqueued = [line for line in asked if line["event"] == "task_enqueued"]
    assert len(enqueued) == 4
    assert {line["request_id"] for line in enqueued} == {"from-the-proxy-2"}
    lines = [line for line in worker.lines() if line["event"] in ("task_started", "task_failed")]
    assert len(lines) == 6
    assert {line["request_id"] for line in lines} == {"from-the-proxy-2"}
    [failed, _] = [line for line in lines if line["event"] == "task_failed"]
    assert failed["exception"][0]["kind"] == "ValueError" and failed["level"] == "error"
    for word in ("Ana", "Okoro", "knee"):
        assert word not in worker.text
    assert word not in str(asked)
