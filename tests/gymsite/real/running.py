"""Starting and ending real processes, and what they wrote."""

import json
import os
import signal
import socket
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.db import connection

ROOT = Path(__file__).resolve().parents[3]
PATIENCE = 90


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


def until(true, what="it"):
    """Wait for something that comes in its own time; for very long it is a failure."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        try:
            if got := true():
                return got
        except OSError:
            pass
        time.sleep(0.05)
    raise AssertionError(f"{what} did not come")


class Running:
    """A process and the file it logs to."""

    def __init__(self, process, log):
        self.process, self.log = process, log

    @property
    def text(self):
        return self.log.read_text(encoding="utf-8")

    def lines(self):
        """Each is an object of JSON, but for Celery's goodbye."""
        said = [line for line in self.text.splitlines() if line and "shutdown (Main" not in line]
        return [json.loads(line) for line in said]

    def stop(self, signal_=signal.SIGTERM):
        if self.process.poll() is None:
            self.process.send_signal(signal_)
            self.process.wait(timeout=PATIENCE)
        return self.process.returncode


@contextmanager
def running(folder, *command, **environment):
    """A program of the environment on the test's database, ended with the block."""
    log = folder / f"{Path(command[0]).name}.log"
    given = {
        **{k: v for k, v in os.environ.items() if not k.startswith(("WEB_", "PROMETHEUS_"))},
        "DJANGO_SETTINGS_MODULE": "tests.gymsite.real.settings",
        "REAL_DATABASE": str(connection.settings_dict["NAME"]),
        "REAL_PREFIX": settings.REDIS_PREFIX,
        "REAL_BROKER": str(folder),
        "PYTHONWARNINGS": "ignore",
        **environment,
    }
    with log.open("wb") as out:
        process = subprocess.Popen(
            [str(Path(sys.executable).parent / command[0]), *command[1:]],
            cwd=ROOT, env=given, stdout=out, stderr=subprocess.STDOUT,
        )  # fmt: skip
    one = Running(process, log)
    try:
        yield one
    finally:
        one.stop()
