"""A Redis and a PostgreSQL of a test's own, to be killed and started again."""

from __future__ import annotations

import glob
import os
import pwd
import shutil
import signal
import subprocess
from pathlib import Path

import psycopg
import pytest
import redis as redis_client

from .processes import Running, free_port, until


def program(name: str) -> str:
    """Where a program is. Where it is missing the test is skipped; in CI it fails."""
    places = sorted(glob.glob(f"/usr/lib/postgresql/*/bin/{name}"), reverse=True)
    found = shutil.which(name) or next(iter(places), None)
    if found is None:
        why = f"needs {name}; .ci/run installs it"
        if os.environ.get("CI", "").lower() == "true":
            pytest.fail(why)
        pytest.skip(why)
    return found


class Redis:
    """A redis-server that keeps nothing on disk: killed and started again it is empty."""

    def __init__(self, folder: Path) -> None:
        self.program, self.folder, self.port = program("redis-server"), folder, free_port()
        self.start()

    @property
    def url(self) -> str:
        return f"redis://127.0.0.1:{self.port}/0"

    def start(self) -> None:
        self.running = Running(
            [
                self.program, "--bind", "127.0.0.1", "--port", str(self.port), "--save", "",
                "--appendonly", "no", "--dir", str(self.folder),
            ],
            env=dict(os.environ), log=self.folder / "redis.log",
        )  # fmt: skip
        until("Redis answers", self._answers)

    def _answers(self) -> bool:
        try:
            with redis_client.Redis(port=self.port, socket_timeout=1) as client:
                return bool(client.ping())
        except redis_client.RedisError:
            return False

    def kill(self) -> None:
        self.running.kill()

    def freeze(self) -> None:
        """Let it take connections and say nothing."""
        os.kill(self.running.pid, signal.SIGSTOP)

    def thaw(self) -> None:
        os.kill(self.running.pid, signal.SIGCONT)

    def end(self) -> None:
        self.running.kill()


class Postgres:
    """A cluster in a folder of its own. The server refuses to run as root, so for root it
    runs as the user that Debian's package makes."""

    def __init__(self, folder: Path) -> None:
        self.port, self.folder, self.data = free_port(), folder, folder / "data"
        self._as: list[str] = []
        if os.getuid() == 0:
            who = pwd.getpwnam("postgres")
            self._as = [
                program("setpriv"), f"--reuid={who.pw_uid}", f"--regid={who.pw_gid}",
                "--clear-groups", "--pdeathsig", "KILL",
            ]  # fmt: skip
            os.chown(folder, who.pw_uid, who.pw_gid)
        subprocess.run(
            [
                *self._as, program("initdb"), "-D", str(self.data), "-U", "postgres", "-A", "trust",
                "--no-sync", "-E", "UTF8", "--locale", "C.UTF-8",
            ],
            check=True, capture_output=True, cwd=folder,
        )  # fmt: skip
        self.start()

    def url(self, name: str) -> str:
        return f"postgres://postgres@127.0.0.1:{self.port}/{name}"

    def start(self) -> None:
        # What is committed is on the disk, as in earnest.
        self.running = Running(
            [
                *self._as, program("postgres"), "-D", str(self.data), "-p", str(self.port),
                "-c", "listen_addresses=127.0.0.1", "-c", f"unix_socket_directories={self.folder}",
                "-c", "max_connections=60",
            ],
            env={**os.environ, "LC_ALL": "C.UTF-8"}, log=self.folder / "server.log",
        )  # fmt: skip
        until("PostgreSQL answers", self._answers)

    def _answers(self) -> bool:
        try:
            psycopg.connect(self.url("postgres"), connect_timeout=2).close()
            return True
        except psycopg.OperationalError:
            return False

    def crash(self) -> None:
        """Stop as ``pg_ctl -m immediate`` does: no goodbyes, and recovery at the next start."""
        os.kill(self.running.pid, signal.SIGQUIT)
        self.running.process.wait(timeout=30)

    def copy(self, name: str, *, of: str) -> str:
        """Make a database like another; its address."""
        with psycopg.connect(self.url("postgres"), autocommit=True) as connection:
            connection.execute(f'create database "{name}" template "{of}"')
            # Sequences count ahead in the log, which a copy of them has no part in until now.
            connection.execute("checkpoint")
        return self.url(name)

    def end(self) -> None:
        if self.running.is_there:
            self.crash()
        self.running.kill()
