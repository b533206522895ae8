"""gunicorn as the README starts it: two processes that count as one, log alike, and end well."""

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from prometheus_client import values
from prometheus_client.multiprocess import MultiProcessCollector

from .running import ROOT, free_port, running, until

pytestmark = pytest.mark.django_db(transaction=True)
ASKED = "django_http_requests_before_middlewares_total"


class Web:
    def __init__(self, port, figures, process):
        self.port, self.figures, self.running = port, figures, process

    def get(self, path, **headers):
        one = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            one.request("GET", path, headers={"Connection": "close", **headers})
            answer = one.getresponse()
            return answer.status, dict(answer.getheaders()), answer.read().decode()
        finally:
            one.close()

    def told(self):
        """What the server as a whole tells Prometheus."""
        _, _, text = self.get("/metrics/", Authorization="Bearer for-the-scraper")
        lines = [line for line in text.splitlines() if line and not line.startswith("#")]
        return {name: float(value) for name, value in (line.rsplit(" ", 1) for line in lines)}

    def counted(self, place):
        """What one process has counted by itself."""
        file = self.figures / f"counter_{place}.db"
        found = MultiProcessCollector.merge([str(file)]) if file.exists() else []
        return sum(s.value for metric in found for s in metric.samples if s.name == ASKED)

    def workers(self):
        told = subprocess.run(
            ["ps", "-o", "pid=", "--ppid", str(self.running.process.pid)],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        return {int(pid) for pid in told.stdout.split()}


@pytest.fixture
def web(tmp_path, request):
    given = getattr(request, "param", {})
    port, figures = free_port(), tmp_path / "figures"
    with running(
        tmp_path, "gunicorn", "-c", "python:gymsite.gunicorn", "gymsite.wsgi",
        WEB_BIND=f"127.0.0.1:{port}", PROMETHEUS_MULTIPROC_DIR=str(figures), LOG_LEVEL="INFO",
        **given,
    ) as process:  # fmt: skip
        one = Web(port, figures, process)
        until(lambda: one.get("/health/live/")[0] == 200, "the server")
        yield one


def ask_both(web):
    """Ask until each of the two processes has answered; how often that was."""
    asked = 0
    while not (web.counted("web-0") and web.counted("web-1")):
        with ThreadPoolExecutor(8) as pool:
            assert {status for status, _, _ in pool.map(web.get, ["/health/live/"] * 16)} == {200}
        asked += 16
        assert asked < 5000
    return asked


def test_whichever_process_is_asked_tells_what_both_have_counted(web):
    ask_both(web)
    first = web.told()[ASKED]
    told = [web.told()[ASKED] for _ in range(12)]
    # Each asking is a request itself, and no other came in between.
    assert told == [first + n for n in range(1, 13)]
    assert told[-1] == web.counted("web-0") + web.counted("web-1")


def test_nothing_counted_is_lost_with_a_process_and_its_place_is_filled(web):
    ask_both(web)
    before, workers = web.told()[ASKED], web.workers()
    os.kill(min(workers), signal.SIGKILL)
    until(lambda: len(web.workers() - workers) == 1, "the next process")
    until(lambda: web.get("/health/live/")[0] == 200, "an answer")
    assert web.told()[ASKED] > before
    assert {file.name for file in web.figures.glob("counter_*.db")} == {
        "counter_web-0.db", "counter_web-1.db",
    }  # fmt: skip


@pytest.mark.parametrize("web", [{"WEB_MAX_REQUESTS": "10"}], indirect=True)
def test_processes_are_replaced_after_so_many_requests_and_nobody_notices(web):
    workers = web.workers()
    for _ in range(60):
        assert web.get("/health/live/")[0] == 200
    until(lambda: not workers & web.workers(), "the next processes")
    assert web.told()[ASKED] >= 60
    assert len(list(web.figures.glob("counter_*.db"))) <= 4


def test_it_is_ready_and_says_so_to_whom_it_concerns(web):
    status, _, body = web.get("/health/ready/")
    assert status == 200 and '"database": "good"' in body


def test_a_request_under_way_is_answered_when_the_server_is_stopped(web):
    with ThreadPoolExecutor(1) as pool:
        asked = pool.submit(web.get, "/slow/")
        until(lambda: "GET /slow/" in web.running.text, "the request")
        assert web.running.stop() == 0
        assert asked.result()[0] == 200 and asked.result()[2] == "after all"


@pytest.mark.parametrize("web", [{"WEB_WORKERS": "1", "WEB_THREADS": "1"}], indirect=True)
def test_who_gave_up_in_the_line_is_passed_over(web):
    with ThreadPoolExecutor(1) as pool:
        asked = pool.submit(web.get, "/slow/")
        until(lambda: "GET /slow/" in web.running.text, "the request")
        for _ in range(5):
            with socket.create_connection(("127.0.0.1", web.port)) as impatient:
                impatient.sendall(b"GET /cautions/ HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
        assert asked.result()[0] == 200
    until(lambda: web.told()["classboard_requests_abandoned_total"] == 5, "the line")
    assert "GET /cautions/" not in web.running.text


@pytest.mark.parametrize("web", [{"WEB_ACCESS_LOG": "true"}], indirect=True)
def test_every_line_is_json_and_a_request_has_its_own_number(web):
    _, made, _ = web.get("/health/live/?name=Ana%20Sol", **{"User-Agent": "phone of Ana"})
    assert re.fullmatch(r"[0-9a-f-]{36}", made["X-Request-ID"])
    _, kept, _ = web.get("/accounts/login/", **{"X-Request-ID": "from-the-proxy-1"})
    assert kept["X-Request-ID"] == "from-the-proxy-1"
    for bad in ("short", "x" * 65, "with space 12", 'quote"quote', "a@example.org"):
        _, other, _ = web.get("/health/live/", **{"X-Request-ID": bad})
        assert other["X-Request-ID"] != bad
    status, headers, page = web.get("/fails/?name=Ana%20Sol")
    assert status == 500 and headers["X-Request-ID"] in page and "Ana" not in page
    web.running.stop()
    lines = web.running.lines()  # all of them are JSON, gunicorn's own as well
    by_number = [line for line in lines if line.get("request_id") == headers["X-Request-ID"]]
    assert {"request_started"} <= {line["event"] for line in by_number}
    failed = [line for line in lines if "exception" in line]
    assert failed and failed[0]["exception"][0]["kind"] == "ValueError"
    assert any(line["event"] == "answered" and line["code"] == 500 for line in lines)
    assert any(line["logger"] == "gunicorn.error" for line in lines)
    for word in ("Ana", "Sol", "phone", "example.org", "127.0.0.1:", "?name"):
        found = [line for line in web.running.text.splitlines() if word in line]
        assert all("gunicorn.error" in line for line in found), found


def test_without_a_folder_of_its_own_it_makes_one_and_takes_it_along(tmp_path):
    port = free_port()
    with running(
        tmp_path, "gunicorn", "-c", "python:gymsite.gunicorn", "gymsite.wsgi",
        WEB_BIND=f"127.0.0.1:{port}", TMPDIR=str(tmp_path),
    ) as process:  # fmt: skip
        one = Web(port, tmp_path, process)
        until(lambda: one.get("/health/live/")[0] == 200, "the server")
        [made] = tmp_path.glob("class-board-*")
        assert list(made.glob("*_web-*.db"))
        process.stop()
    assert not made.exists()


def test_it_leaves_nothing_in_the_home_directory(tmp_path):
    """A service can't write there, and would say so at each start."""
    home, port = tmp_path / "home", free_port()
    home.mkdir()
    with running(
        tmp_path, "gunicorn", "-c", "python:gymsite.gunicorn", "gymsite.wsgi",
        WEB_BIND=f"127.0.0.1:{port}", HOME=str(home), XDG_RUNTIME_DIR=str(home), WEB_WORKERS="1",
    ) as process:  # fmt: skip
        one = Web(port, tmp_path, process)
        until(lambda: one.get("/health/live/")[0] == 200, "the server")
        assert list(home.iterdir()) == []


def test_a_server_of_one_process_needs_no_folder():
    code = "import os, gymsite; from prometheus_client import values; print(values.ValueClass)"
    told = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True,
        env={k: v for k, v in os.environ.items() if k != "PROMETHEUS_MULTIPROC_DIR"},
    )  # fmt: skip
    assert "MutexValue" in told.stdout and values.MutexValue


def test_the_file_is_a_settings_file_that_gunicorn_takes():
    told = subprocess.run(
        [Path(sys.executable).parent / "gunicorn", "-c", "python:gymsite.gunicorn",
         "--check-config", "gymsite.wsgi"],
        cwd=ROOT, capture_output=True, text=True, check=False,
        env=os.environ | {"DJANGO_SETTINGS_MODULE": "gymsite.settings.base"},
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
