"""Where the site is measured: a database and a server of the run's own, both gone after it."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import sleep
from urllib.parse import urlsplit, urlunsplit

from bench.workload import ROOT


@contextmanager
def database() -> Iterator[dict[str, str]]:
    """A database made for this run; yields the environment a server needs to use it.

    Without ``DATABASE_URL``, or with an SQLite one, a file that is thrown away; else a
    database beside the one it names. What Redis was given is taken out again.
    """
    os.environ["REDIS_PREFIX"] = prefix = f"bench-{os.getpid()}"
    url = os.environ.get("DATABASE_URL", "")
    try:
        with tempfile.TemporaryDirectory() as folder:
            if not url or url.startswith("sqlite"):
                url = f"sqlite:///{Path(folder) / 'bench.sqlite3'}"
                yield from _file(url)
            else:
                yield from _beside(url)
    finally:
        forget(prefix)


def _file(url: str) -> Iterator[dict[str, str]]:
    import django

    os.environ["DATABASE_URL"] = url
    django.setup()
    from django.core.management import call_command
    from django.db import connection

    try:
        call_command("migrate", verbosity=0)
        call_command("createcachetable")
        yield dict(os.environ)
    finally:
        connection.close()


def _beside(url: str) -> Iterator[dict[str, str]]:
    import django

    django.setup()
    from django.db import connection

    name = connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        yield {**os.environ, "DATABASE_URL": named(url, name)}
    finally:
        connection.creation.destroy_test_db("", verbosity=0)


def named(url: str, name: str) -> str:
    """The address of another database of the same server, its options kept."""
    return urlunsplit(urlsplit(url)._replace(path=f"/{name}"))


def forget(prefix: str) -> None:
    """Take this run's keys, and no others, out of the Redis of the settings."""
    from django.conf import settings

    if not settings.REDIS_URL:
        return
    import redis

    client = redis.Redis.from_url(settings.REDIS_URL)
    for pattern in (f"{prefix}:*", f"*:{prefix}:*"):
        for key in client.scan_iter(pattern):
            client.delete(key)
    client.close()


@contextmanager
def server(environment: dict[str, str]) -> Iterator[int]:
    """gunicorn with one process and eight threads, as ``make demo`` starts it; its port.

    Raises ``RuntimeError`` if it doesn't answer.
    """
    settings = {"DJANGO_SETTINGS_MODULE": "bench.settings"}
    with started({**environment, **settings}, workers=1, threads=8) as (port, _):
        yield port


@contextmanager
def started(
    environment: dict[str, str], *, workers: int, threads: int
) -> Iterator[tuple[int, int]]:
    """gunicorn on a free port of loopback; the port, and the key of its first process.

    Raises ``RuntimeError`` if it doesn't answer.
    """
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    running = subprocess.Popen(
        [
            sys.executable, "-m", "gunicorn", "-c", "python:gymsite.gunicorn", "gymsite.wsgi",
            "--log-level", "warning",
        ],
        cwd=ROOT,
        env={
            **environment,
            "LOG_LEVEL": "WARNING",
            "WEB_BIND": f"127.0.0.1:{port}",
            "WEB_WORKERS": str(workers),
            "WEB_THREADS": str(threads),
        },
    )  # fmt: skip
    try:
        _wait(running, port)
        yield port, running.pid
    finally:
        _end(running)


@contextmanager
def worker(environment: dict[str, str]) -> Iterator[int]:
    """A Celery worker with two processes; the key of its first one."""
    running = subprocess.Popen(
        [
            sys.executable, "-m", "celery", "-A", "gymsite", "worker", "--concurrency", "2",
            "--loglevel", "WARNING", "--without-gossip", "--without-mingle",
            "--hostname", f"bench-{os.getpid()}@%h",
        ],
        cwd=ROOT,
        env={**environment, "LOG_LEVEL": "WARNING"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        yield running.pid
    finally:
        _end(running)


def _end(running: subprocess.Popen[bytes]) -> None:
    """Ask a process to end, and end it if it doesn't."""
    running.terminate()
    try:
        running.wait(timeout=40)
    except subprocess.TimeoutExpired:
        running.kill()
        running.wait(timeout=10)


def _wait(running: subprocess.Popen[bytes], port: int) -> None:
    for _ in range(200):
        if running.poll() is not None:
            break
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return
        except OSError:
            sleep(0.1)
    raise RuntimeError("the server to be measured does not answer")
