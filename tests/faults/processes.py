"""Processes of a test's own: started, asked until they answer, ended by their number."""

from __future__ import annotations

import ctypes
import json
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from time import monotonic, sleep

import psycopg
from celery import Celery

from .clients import Api

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 60.0
"""Seconds in which something must be ready; only what is broken takes so long."""


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


def until(what: str, is_so: Callable[[], object], *, patience: float = PATIENCE) -> None:
    """Ask again and again until something is so."""
    end = monotonic() + patience
    while not is_so():
        assert monotonic() < end, f"{what}: not within {patience:.0f} s"
        sleep(0.05)


def _dies_with_its_parent() -> None:
    ctypes.CDLL(None).prctl(1, signal.SIGKILL)  # PR_SET_PDEATHSIG: prctl(2)


class Running:
    """A process with its children, a group of their own. ``log`` is what it printed."""

    def __init__(self, command: list[str], *, env: dict[str, str], log: Path) -> None:
        self.log = log
        with log.open("ab") as out:
            self.process = subprocess.Popen(
                command,
                cwd=ROOT,
                env=env,
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=subprocess.STDOUT,
                start_new_session=True,
                preexec_fn=_dies_with_its_parent,
            )

    @property
    def pid(self) -> int:
        return self.process.pid

    @property
    def is_there(self) -> bool:
        return self.process.poll() is None

    def said(self) -> str:
        return self.log.read_text(errors="replace")

    def children(self) -> list[int]:
        """The processes it started, by number."""
        told = Path(f"/proc/{self.pid}/task/{self.pid}/children").read_text()
        return [int(number) for number in told.split()]

    def kill(self) -> None:
        """SIGKILL for it and all its children, at once."""
        try:
            os.killpg(self.pid, signal.SIGKILL)
        except ProcessLookupError:
            pass
        self.process.wait(timeout=30)

    def end(self) -> None:
        """Ask it to stop; what does not is killed."""
        if self.is_there:
            self.process.terminate()
            try:
                self.process.wait(timeout=10)
            except subprocess.TimeoutExpired:
                pass
        self.kill()


class Server(Running):
    """gunicorn, on a port of its own."""

    port: int

    def wait(self) -> None:
        def answers() -> bool:
            assert self.is_there, self.said()[-2000:]
            return Api(self.port).get("/health/live/").status == 200

        until("the web server answers", answers)


@dataclass
class Site:
    """The site on a database of its own, as whoever runs it starts it."""

    folder: Path
    database: str
    redis: str = ""
    more: dict[str, str] = field(default_factory=dict)
    running: list[Running] = field(default_factory=list)
    scene: dict[str, object] = field(default_factory=dict)

    @property
    def env(self) -> dict[str, str]:
        kept = ("PATH", "HOME", "LANG", "LC_ALL", "VIRTUAL_ENV", "TMPDIR")
        limits = dict.fromkeys(
            ("ANON", "USER", "SUBMIT", "PREVIEW", "TOKEN"), "100000/min"
        )  # tests that concern a limit set it themselves
        return {
            **{name: os.environ[name] for name in kept if name in os.environ},
            **{f"THROTTLE_{name}": rate for name, rate in limits.items()},
            "DJANGO_SETTINGS_MODULE": "gymsite.settings.base",
            "SECRET_KEY": "for the tests of faults, and for nothing else",
            "DATABASE_URL": self.database,
            "REDIS_URL": self.redis,
            "EMAIL_URL": f"filemail:///{self.mails}",
            "LOG_LEVEL": "WARNING",
            "OWN_CLOCK": "false",
            "PYTHONPATH": str(ROOT),
            "PYTHONUNBUFFERED": "1",
            **self.more,
        }

    @property
    def mails(self) -> Path:
        (self.folder / "mails").mkdir(exist_ok=True)
        return self.folder / "mails"

    def letters(self) -> list[str]:
        """Whom each e-mail went to."""
        texts = [path.read_text() for path in sorted(self.mails.iterdir())]
        lines = "\n".join(texts).splitlines()
        return sorted(line.removeprefix("To: ") for line in lines if line.startswith("To: "))

    # --- what runs and goes on running

    def start(self, command: list[str], *, name: str) -> Running:
        made = Running(command, env=self.env, log=self.folder / f"{name}.log")
        self.running.append(made)
        return made

    def serve(
        self, *, workers: int = 1, ahead: int = 0, port: int = 0, preload: bool = True
    ) -> Server:
        """gunicorn; ``ahead`` puts its clock so many seconds forward. ``preload`` loads the site
        once for all its processes."""
        port = port or free_port()
        command = [
            *_runner(ahead=ahead),
            "gunicorn", "gymsite.wsgi", "--bind", f"127.0.0.1:{port}",
            "--workers", str(workers), "--threads", "4", "--log-level", "warning",
            "--graceful-timeout", "2", *(["--preload"] if preload else []),
        ]  # fmt: skip
        server = Server(command, env=self.env, log=self.folder / "server.log")
        server.port = port
        self.running.append(server)
        server.wait()
        return server

    def worker(self, *, ahead: int = 0, stop_at: str = "", chunk: str = "") -> Running:
        """A Celery worker with one child. ``stop_at`` and ``chunk`` (a setting) as in run.py."""
        command = [
            *_runner(ahead=ahead, stop_at=stop_at, told=self.stopped, chunk=chunk),
            "celery", "-A", "gymsite", "worker", "--concurrency", "1", "--without-gossip",
            "--without-mingle", "-l", "WARNING",
        ]  # fmt: skip
        worker = self.start(command, name="worker")
        asks = Celery(broker=self.redis).control

        def answers() -> bool:
            assert worker.is_there, worker.said()[-2000:]
            return bool(asks.ping(timeout=0.3))

        until("the worker answers", answers)
        return worker

    def command(self, *command: str, stop_at: str = "", chunk: str = "") -> Running:
        """A command of ``manage.py``."""
        runner = _runner(stop_at=stop_at, told=self.stopped, chunk=chunk)
        return self.start([*runner, "command", *command], name="command")

    def kill_where_it_stopped(self, running: Running) -> None:
        """Wait until a process stands still where it was told to, and kill it there."""

        def stands() -> bool:
            assert running.is_there or self.stopped.exists(), running.said()[-2000:]
            return self.stopped.exists()

        until("it stands still", stands)
        running.kill()
        self.stopped.unlink()

    @property
    def stopped(self) -> Path:
        """Is there once a process stands still where it was told to."""
        return self.folder / "stopped"

    # --- what runs and ends

    def run(self, *command: str, ahead: int = 0) -> str:
        """Run one command of run.py in the site's environment; what it printed."""
        done = subprocess.run(
            [*_runner(ahead=ahead), *command],
            cwd=ROOT,
            env=self.env,
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
        assert done.returncode == 0, done.stderr[-3000:]
        return done.stdout

    def tick(self, *, minutes: int = 0) -> None:
        """Everything that beat starts, once, so many minutes from now."""
        self.run("tick", ahead=60 * minutes)

    def tell(self, what: str, *args: object, ahead: int = 0) -> object:
        """What a function of scene.py or recount.py answers, run in the site's environment."""
        return json.loads(self.run("tell", what, json.dumps(args), ahead=ahead))

    def has(self, condition: str) -> bool:
        """Whether some row of the PostgreSQL database is so; quick, to ask again and again."""
        with psycopg.connect(self.database) as connection:
            return connection.execute(f"select exists(select from {condition})").fetchone() == (
                True,
            )

    def end(self) -> None:
        for one in self.running:
            one.end()


def _runner(
    *, ahead: int = 0, stop_at: str = "", told: Path | None = None, chunk: str = ""
) -> list[str]:
    command = [sys.executable, "-m", "tests.faults.run"]
    if ahead:
        command += ["--ahead", str(ahead)]
    if stop_at:
        command += ["--stop-at", stop_at, "--told", str(told)]
    if chunk:
        command += ["--set", chunk]
    return command
