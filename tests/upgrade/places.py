"""Databases beside the tests' own, of the kind in use, for whole processes to work on."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import uuid
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from io import StringIO
from pathlib import Path

import environ
import psycopg
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connections
from django.test import override_settings
from psycopg import sql

ROOT = Path(__file__).resolve().parents[2]


def is_sqlite() -> bool:
    return settings.DATABASES["default"]["ENGINE"].endswith("sqlite3")


def _server() -> psycopg.Connection:
    told = settings.DATABASES["default"]
    return psycopg.connect(
        host=told["HOST"], port=told["PORT"], user=told["USER"], password=told["PASSWORD"],
        dbname="postgres", autocommit=True,
    )  # fmt: skip


@dataclass(frozen=True)
class Place:
    """A database by its address, a folder for what belongs to it, and a prefix in Redis."""

    url: str
    folder: Path
    prefix: str

    @property
    def environment(self) -> dict[str, str]:
        return {
            **os.environ,
            "DJANGO_SETTINGS_MODULE": "gymsite.settings.base",
            "DATABASE_URL": self.url,
            "REDIS_PREFIX": self.prefix,
            "CELERY_BROKER_URL": "",
            "LOG_LEVEL": "ERROR",
        }

    def python(self, *args: object, ok: bool = True, **other: str) -> subprocess.CompletedProcess:
        """Run Python on this database; with ``ok`` it must end well."""
        done = subprocess.run(
            [sys.executable, *map(str, args)],
            cwd=ROOT, env=self.environment | other, capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert not ok or done.returncode == 0, done.stdout + done.stderr
        return done

    @contextmanager
    def in_use(self) -> Iterator[None]:
        """Let this process work on it as on its own database."""
        self.forget()
        before = connections["default"]
        mine = type(before)(connections.databases[self.alias], alias="default")
        connections["default"] = mine
        try:
            with override_settings(REDIS_PREFIX=self.prefix):
                yield
        finally:
            mine.close()
            connections["default"] = before

    def manage(self, *args: object, ok: bool = True) -> str:
        """What a command of ``manage.py`` says; with ``ok`` false it must have failed."""
        out, failed = StringIO(), ""
        with self.in_use():
            try:
                call_command(*map(str, args), stdout=out, stderr=out)
            except (CommandError, SystemExit) as error:
                failed = str(error) or "failed"
        assert ok != bool(failed), out.getvalue() + failed
        return out.getvalue() + failed

    @property
    def alias(self) -> str:
        """Its name among this process's connections."""
        name = f"side {self.url}"
        if name not in connections.databases:
            mine = {**settings.DATABASES["default"], **environ.Env.db_url_config(self.url)}
            of_kind = mine["OPTIONS"] if "postgresql" in mine["ENGINE"] else settings.SQLITE_OPTIONS
            mine["OPTIONS"] = {k: v for k, v in of_kind.items() if k != "pool"}
            connections.databases[name] = mine
        return name

    def forget(self) -> None:
        """Let go of it: others want to change it."""
        if f"side {self.url}" in connections.databases:
            connections[self.alias].close()

    def copy(self, folder: Path) -> Place:
        """Another database with the same in it."""
        self.forget()
        if is_sqlite():
            there = new_place(folder)
            shutil.copyfile(
                self.url.removeprefix("sqlite:///"), there.url.removeprefix("sqlite:///")
            )
            return there
        return new_place(folder, template=self.url.rpartition("/")[2])

    def drop(self) -> None:
        self.forget()
        connections.databases.pop(f"side {self.url}", None)
        if not is_sqlite():
            with closing(_server()) as server:
                name = sql.Identifier(self.url.rpartition("/")[2])
                server.execute(sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(name))
        if settings.REDIS_URL:
            import redis

            client = redis.Redis.from_url(settings.REDIS_URL)
            for key in client.scan_iter(f"{self.prefix}:*"):
                client.delete(key)


def new_place(folder: Path, *, template: str = "template0") -> Place:
    """An empty database, or a copy of one on the same server."""
    name = f"gym_side_{uuid.uuid4().hex[:12]}"
    if is_sqlite():
        return Place(f"sqlite:///{folder / name}.sqlite3", folder, name)
    with closing(_server()) as server:
        server.execute(
            sql.SQL("CREATE DATABASE {} TEMPLATE {}").format(
                sql.Identifier(name), sql.Identifier(template)
            )
        )
    told = settings.DATABASES["default"]
    who = told["USER"] + (f":{told['PASSWORD']}" if told["PASSWORD"] else "")
    return Place(f"postgres://{who}@{told['HOST']}:{told['PORT']}/{name}", folder, name)
