"""PostgreSQL: copied by ``pg_dump`` from one snapshot, put back in one transaction."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import uuid
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import psycopg
from psycopg import sql

from .kinds import Held, Kind, by_app, compare
from .manifest import private
from .problems import BackupError

# How psycopg's words for a connection are called in the environment of libpq's programs.
# Nothing of it goes to a command line, which every user of the machine can read.
LIBPQ = {
    "host": "PGHOST",
    "hostaddr": "PGHOSTADDR",
    "port": "PGPORT",
    "user": "PGUSER",
    "password": "PGPASSWORD",
    "passfile": "PGPASSFILE",
    "dbname": "PGDATABASE",
    "service": "PGSERVICE",
    "sslmode": "PGSSLMODE",
    "sslcert": "PGSSLCERT",
    "sslkey": "PGSSLKEY",
    "sslrootcert": "PGSSLROOTCERT",
    "options": "PGOPTIONS",
    "connect_timeout": "PGCONNECT_TIMEOUT",
    "target_session_attrs": "PGTARGETSESSIONATTRS",
}
LOCK_SECONDS = 20
"""How long a restore waits for others who have the tables open."""

TABLES = (
    "SELECT c.relname FROM pg_class c WHERE c.relkind IN ('r', 'p') "
    "AND c.relnamespace = current_schema()::regnamespace ORDER BY c.relname"
)
FUNCTIONS = (
    "SELECT p.oid::regprocedure::text FROM pg_proc p "
    "WHERE p.pronamespace = current_schema()::regnamespace AND NOT EXISTS "
    "(SELECT FROM pg_depend d WHERE d.objid = p.oid AND d.deptype = 'e')"
)


def program(name: str) -> str:
    """Where a program of PostgreSQL is. Raises ``BackupError`` if it isn't installed."""
    found = shutil.which(name)
    if not found:
        raise BackupError(
            f"The program {name} is not here. Install PostgreSQL's client programs (on Debian: "
            "apt install postgresql-client)."
        )
    return found


def _major(text: str) -> int:
    found = re.search(r"(\d+)(?:\.|devel|beta|rc|$|\s)", text)
    return int(found.group(1)) if found else 0


def _last_line(said: str) -> str:
    lines = [line for line in said.strip().splitlines() if line.strip()]
    return next((line for line in lines if "error" in line.lower()), lines[-1] if lines else "")


class PostgreSQL(Kind):
    name = "postgresql"
    words = "PostgreSQL"
    file = "data.dump"

    def _params(self) -> dict[str, Any]:
        return dict(self.connection.get_connection_params())

    def _environment(self, **other: str) -> dict[str, str]:
        told = {LIBPQ[key]: str(value) for key, value in self._params().items() if key in LIBPQ}
        return {**os.environ, "PGAPPNAME": "backup", "LC_ALL": "C", **told, **other}

    def _connect(self, **other: Any) -> psycopg.Connection[Any]:
        return psycopg.connect(**{**self._params(), "cursor_factory": None, **other})

    def server(self) -> str:
        with closing(self._connect(autocommit=True)) as asked:
            return str(asked.execute("SHOW server_version").fetchone()[0])  # type: ignore[index]

    def _demand_fitting(self, name: str) -> str:
        """The program, if it is not older than the server."""
        path = program(name)
        said = subprocess.run([path, "--version"], capture_output=True, text=True, check=False)  # noqa: S603
        has, needs = _major(said.stdout.rpartition(") ")[2]), _major(self.server())
        if has < needs:
            raise BackupError(
                f"{path} is of version {has} and the server of version {needs}; an older one "
                f"can't read it. Install postgresql-client-{needs}."
            )
        return path

    def _run(self, args: Sequence[str], environment: Mapping[str, str], **other: Any) -> str:
        done = subprocess.run(  # noqa: S603
            args, env=environment, capture_output=True, text=True, check=False, **other
        )
        if done.returncode:
            raise BackupError(f"{Path(args[0]).name} failed: {_last_line(done.stderr)}")
        return done.stdout

    def dump(self, path: Path) -> Held:
        pg_dump = self._demand_fitting("pg_dump")
        os.close(private(str(path), os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        with closing(self._connect(autocommit=True)) as held:
            # Counts and copy see the same moment, whatever is written meanwhile.
            held.execute("BEGIN ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            snapshot = held.execute("SELECT pg_export_snapshot()").fetchone()[0]  # type: ignore[index]
            rows = _rows(held)
            if "django_migrations" not in rows:
                raise BackupError("This is not a site's database: run migrate first.")
            applied = held.execute("SELECT app, name FROM django_migrations").fetchall()
            schema = held.execute("SELECT quote_ident(current_schema())").fetchone()[0]  # type: ignore[index]
            self._run(
                [pg_dump, "--format=custom", "--no-owner", "--no-privileges", "--no-password",
                 f"--snapshot={snapshot}", f"--schema={schema}", f"--file={path}"],
                self._environment(),
            )  # fmt: skip
            held.execute("ROLLBACK")
        return Held(by_app(applied), rows)

    def check(self, path: Path, rows: dict[str, int], *, fully: bool) -> str:
        pg_restore = program("pg_restore")
        listed = self._run([pg_restore, "--list", str(path)], os.environ)
        # "123; 0 4567 TABLE DATA public scoring_fact owner"
        there = set(re.findall(r"^\d+; \d+ \d+ TABLE DATA \S+ (\S+)", listed, re.MULTILINE))
        if missing := sorted(set(rows) - there):
            raise BackupError("The copy lacks tables: " + ", ".join(missing[:5]))
        # Reads and unpacks all of it, which a list alone does not.
        self._run([pg_restore, "--file=/dev/null", str(path)], os.environ)
        if not fully:
            return "listed, and read to its end"
        schema = _schema(listed)
        with closing(self._connect(autocommit=True)) as asked:
            found = asked.execute(
                "SELECT rolcreatedb OR rolsuper FROM pg_roles WHERE rolname = current_user"
            ).fetchone()
            if not found or not found[0]:
                return "listed, and read to its end; no trial, this role may create no database"
            with self._scratch(asked) as scratch:
                environment = self._environment(PGDATABASE=scratch)
                asked_for = [f"CREATE SCHEMA IF NOT EXISTS {schema};"]
                self._fill([pg_restore, f"--schema={schema}", str(path)], environment, asked_for)
                with closing(self._connect(autocommit=True, dbname=scratch)) as restored:
                    compare(rows, _rows(restored))
        return "restored into a database of its own, rows counted"

    @contextmanager
    def _scratch(self, asked: psycopg.Connection[Any]) -> Iterator[str]:
        name = f"backup_trial_{uuid.uuid4().hex[:12]}"
        asked.execute(sql.SQL("CREATE DATABASE {} TEMPLATE template0").format(sql.Identifier(name)))
        try:
            yield name
        finally:
            asked.execute(sql.SQL("DROP DATABASE {}").format(sql.Identifier(name)))

    def restore(self, path: Path, also: Sequence[str]) -> None:
        pg_restore = self._demand_fitting("pg_restore")
        schema = _schema(self._run([pg_restore, "--list", str(path)], os.environ))
        with closing(self._connect(autocommit=True)) as asked:
            here = asked.execute("SELECT current_schema()").fetchone()
            if not here or here[0] != schema:
                raise BackupError(
                    f"The backup is of the schema {schema}, and here it is {here and here[0]}."
                )
            drops = [
                sql.SQL("DROP TABLE {} CASCADE;").format(sql.Identifier(table)).as_string(asked)
                for (table,) in asked.execute(TABLES).fetchall()
            ]
            drops += [
                f"DROP FUNCTION {name} CASCADE;" for (name,) in asked.execute(FUNCTIONS).fetchall()
            ]
        # A dump leaves the search path empty; statements of ours want the usual one.
        after = [f"SET search_path TO {schema};", *(f"{each};" for each in also)]
        command = [pg_restore, f"--schema={schema}", str(path)]
        self._fill(command, self._environment(), drops, after)

    def _fill(
        self,
        command: Sequence[str],
        environment: Mapping[str, str],
        before: Sequence[str] = (),
        after: Sequence[str] = (),
    ) -> None:
        """Let psql run what pg_restore writes between BEGIN and COMMIT.

        The COMMIT is only sent once pg_restore has come to a good end: if either dies, the
        connection ends without one and the server takes everything back.
        """
        reader = subprocess.Popen(  # noqa: S603
            [*command, "--no-owner", "--no-privileges", "--file=-"],
            env=dict(environment),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        writer = subprocess.Popen(  # noqa: S603
            [program("psql"), "--no-psqlrc", "--no-password", "--quiet",
             "--set=ON_ERROR_STOP=1", "--file=-"],
            env=dict(environment),
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
        )  # fmt: skip
        assert reader.stdout and reader.stderr and writer.stdin and writer.stderr
        with reader, writer:
            try:
                begin = ["BEGIN;", f"SET LOCAL lock_timeout = '{LOCK_SECONDS}s';", *before]
                writer.stdin.write("\n".join(begin).encode() + b"\n")
                shutil.copyfileobj(reader.stdout, writer.stdin, 1 << 16)
                failed = reader.wait()
                if not failed:
                    writer.stdin.write("\n".join([*after, "COMMIT;", ""]).encode())
            except BrokenPipeError:  # psql has stopped at an error and says below which
                reader.kill()
                failed = 0
            try:
                writer.stdin.close()
            except BrokenPipeError:
                pass
            complaint = writer.stderr.read().decode(errors="replace")
            if failed:
                said = reader.stderr.read().decode(errors="replace")
                raise BackupError(f"pg_restore failed: {_last_line(said)}. Nothing was changed.")
            if writer.wait():
                raise BackupError(_refused(complaint))


def _schema(listed: str) -> str:
    """The schema that a list of a dump tells of."""
    found = re.search(r"^\d+; \d+ \d+ TABLE DATA (\S+) ", listed, re.MULTILINE)
    if not found:
        raise BackupError("The copy holds no tables.")
    return found.group(1)


def _refused(said: str) -> str:
    if "lock timeout" in said:
        return (
            "Others have tables open and would not let go. Stop the web server and the workers, "
            "then try again. Nothing was changed."
        )
    return f"PostgreSQL refused: {_last_line(said)}. Nothing was changed."


def _rows(connection: psycopg.Connection[Any]) -> dict[str, int]:
    counts: dict[str, int] = {}
    for (table,) in connection.execute(TABLES).fetchall():
        asked = sql.SQL("SELECT count(*) FROM {}").format(sql.Identifier(table))
        counts[table] = connection.execute(asked).fetchone()[0]  # type: ignore[index]
    return counts
