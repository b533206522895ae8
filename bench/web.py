"""The site over HTTP on loopback, against bare views of the same server in the same run.

gunicorn with one process and eight threads, as ``make demo`` starts it; two clients that
keep their connections. The database is one of its own and is dropped at the end.
"""

from __future__ import annotations

import http.client
import os
import socket
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread
from time import monotonic, perf_counter, sleep
from urllib.parse import urlencode

from bench.report import Report
from bench.workload import ROOT

MEMBERS = 500
CLIENTS = 2
SECONDS = 6.0

Ask = Callable[[http.client.HTTPConnection, int], None]


def measure(report: Report) -> None:
    with _database() as environment:
        from bench.scene import make

        scene = make(MEMBERS)
        with _server(environment) as port:
            _measure(report, port, scene)


def _measure(report: Report, port: int, scene: dict[str, object]) -> None:
    cookies: list[str] = scene["cookies"]  # type: ignore[assignment]
    full, empty = scene["full"], scene["empty"]

    def get(path: str, **extra: str) -> Ask:
        def ask(connection: http.client.HTTPConnection, number: int) -> None:
            connection.request("GET", path, headers={"Cookie": cookies[0], **extra})
            answer = connection.getresponse()
            body = answer.read()
            expected = 304 if extra else 200
            assert answer.status == expected and (extra or len(body) > 5000), answer.status

        return ask

    rows = f"/classes/{full}/board/rows/"
    tag = _tag(port, rows, cookies[0])
    bare = _rate(port, get("/bare/page/"))
    report.add("bare view, signed in", bare, "answers/s")
    for what, path, aim in (
        ("board of 500, its rows (50)", rows, True),
        ("board of 500, the whole page", f"/classes/{full}/board/", True),
        ("board of 500, by the API", f"/api/v1/classes/{full}/board/", True),
    ):
        rate = _rate(port, get(path))
        report.add(what, rate, "answers/s")
        report.add(
            "  … of the bare view's rate",
            rate / bare,
            "",
            aim=1 / 3 if aim else None,
            at_least=True,
        )
    report.add(
        "unchanged board (304)", _rate(port, get(rows, **{"If-None-Match": tag})), "answers/s"
    )

    def post(path: str, fields: Callable[[int], dict[str, str]]) -> Ask:
        def ask(connection: http.client.HTTPConnection, number: int) -> None:
            token = "b" * 32
            body = urlencode({**fields(number), "csrfmiddlewaretoken": token})
            cookie = f"{cookies[number % MEMBERS]}; csrftoken={token}"
            headers = {"Cookie": cookie, "Content-Type": "application/x-www-form-urlencoded"}
            connection.request("POST", path, body, headers)
            answer = connection.getresponse()
            answer.read()
            assert answer.status in (201, 302), answer.status

        return ask

    inserting = _rate(port, post("/bare/insert/", lambda n: {"mark": "2+9"}))
    report.add("bare insert, signed in", inserting, "answers/s")

    def logged(number: int) -> dict[str, str]:
        return {"key": f"k{number}", "mark": f"{number * 7 % 9}+{number * 5 % 24}", "opt-1": "0"}

    # Everybody logs once, then everybody changes what they logged, and so on.
    submitting = _rate(port, post(f"/classes/{empty}/log/", logged))
    report.add("results logged by the page", submitting, "answers/s")
    report.add(
        "  … of the bare insert's rate", submitting / inserting, "", aim=1 / 4, at_least=True
    )


def _tag(port: int, path: str, cookie: str) -> str:
    connection = http.client.HTTPConnection("127.0.0.1", port)
    connection.request("GET", path, headers={"Cookie": cookie})
    answer = connection.getresponse()
    answer.read()
    return str(answer.headers["ETag"])


def _rate(port: int, ask: Ask) -> float:
    """Answers a second from two clients over some seconds, after a warm-up."""
    counts = [0] * CLIENTS
    faults: list[BaseException] = []

    def client(own: int) -> None:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        number = own
        try:
            until = monotonic() + SECONDS / 4
            while monotonic() < until:
                ask(connection, number)
                number += CLIENTS
            until = monotonic() + SECONDS
            while monotonic() < until:
                ask(connection, number)
                number += CLIENTS
                counts[own] += 1
        except BaseException as fault:
            faults.append(fault)
        finally:
            connection.close()

    threads = [Thread(target=client, args=(own,)) for own in range(CLIENTS)]
    start = perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if faults:
        raise faults[0]
    assert perf_counter() - start >= SECONDS
    return sum(counts) / SECONDS


@contextmanager
def _database() -> Iterator[dict[str, str]]:
    """A database made for this run; yields the environment a server needs to use it."""
    import django
    from django.db import connection

    os.environ["REDIS_PREFIX"] = f"bench-{os.getpid()}"
    with tempfile.TemporaryDirectory() as folder:
        if not os.environ.get("DATABASE_URL"):
            os.environ["DATABASE_URL"] = f"sqlite:///{Path(folder) / 'bench.sqlite3'}"
            django.setup()
            from django.core.management import call_command

            call_command("migrate", verbosity=0)
            call_command("createcachetable")
            yield dict(os.environ)
            connection.close()
            return
        django.setup()
        name = connection.creation.create_test_db(verbosity=0, autoclobber=True)
        base = os.environ["DATABASE_URL"].rpartition("/")[0]
        try:
            yield {**os.environ, "DATABASE_URL": f"{base}/{name}"}
        finally:
            connection.creation.destroy_test_db("", verbosity=0)


@contextmanager
def _server(environment: dict[str, str]) -> Iterator[int]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    server = subprocess.Popen(
        [
            sys.executable, "-m", "gunicorn", "gymsite.wsgi", "--bind", f"127.0.0.1:{port}",
            "--worker-class", "gthread", "--threads", "8", "--log-level", "warning",
        ],
        cwd=ROOT,
        env={**environment, "DJANGO_SETTINGS_MODULE": "bench.settings", "LOG_LEVEL": "WARNING"},
    )  # fmt: skip
    try:
        for _ in range(100):
            try:
                socket.create_connection(("127.0.0.1", port), timeout=1).close()
                break
            except OSError:
                sleep(0.1)
        yield port
    finally:
        server.terminate()
        server.wait(timeout=20)
