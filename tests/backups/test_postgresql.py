"""What is PostgreSQL's own: its programs, their versions, passwords, and a trial restore."""

import os
import shutil
import stat

import pytest
from django.conf import settings
from django.db import connections

from gymsite.backups import BackupError
from gymsite.backups.kinds import kind_of
from gymsite.backups.postgresql import PostgreSQL

from ..upgrade.places import is_sqlite
from .looking import backup

# Not skipped in silence: every run of the tests on PostgreSQL has them.
pytestmark = pytest.mark.skipif(is_sqlite(), reason="the embedded default has no programs")


@pytest.fixture
def programs(tmp_path, monkeypatch):
    """A folder that stands before all others in PATH."""
    folder = tmp_path / "bin"
    folder.mkdir()
    monkeypatch.setenv("PATH", f"{folder}{os.pathsep}{os.environ['PATH']}")

    def put(name, script):
        path = folder / name
        path.write_text(f"#!/bin/sh\n{script}\n")
        path.chmod(path.stat().st_mode | stat.S_IXUSR)

    return put


def test_a_password_is_on_no_command_line(site, programs, tmp_path):
    told = tmp_path / "told"
    for name in ("pg_dump", "pg_restore", "psql"):
        real = shutil.which(name)
        programs(name, f'echo "{name} $@" >> {told}; exec {real} "$@"')
    # Where the server trusts whoever comes there is none, and any will do.
    password = connections.databases[site.alias]["PASSWORD"] or "only-for-libpq"
    connections.databases[site.alias]["PASSWORD"] = password
    path = backup(site, "--verify")
    site.manage("restore", path, "--replace")
    said = told.read_text()
    assert all(f"{name} " in said for name in ("pg_dump", "pg_restore", "psql"))
    assert password not in said
    assert PostgreSQL(connections[site.alias])._environment()["PGPASSWORD"] == password


def test_a_program_that_is_missing_is_named_with_its_package(site, monkeypatch):
    monkeypatch.setenv("PATH", "/nowhere")
    said = site.manage("backup", site.folder / "backups", ok=False)
    assert "pg_dump is not here" in said and "postgresql-client" in said


def test_a_program_older_than_the_server_is_told(site, programs):
    programs("pg_dump", 'echo "pg_dump (PostgreSQL) 9.6.24"')
    said = site.manage("backup", site.folder / "backups", ok=False)
    assert "version 9" in said and "postgresql-client-" in said


def test_a_program_that_dies_half_way_leaves_no_backup(site, programs):
    programs(
        "pg_dump", 'case "$1" in --version) echo "pg_dump (PostgreSQL) 99.1";; *) exit 3;; esac'
    )
    folder = site.folder / "backups"
    assert "pg_dump failed" in site.manage("backup", folder, ok=False)
    assert list(folder.iterdir()) == []


def test_a_trial_restore_is_made_and_cleared_away(site):
    said = site.manage("backup", site.folder / "backups", "--verify")
    assert "restored into a database of its own, rows counted" in said
    with connections[site.alias].cursor() as cursor:
        cursor.execute(
            "SELECT count(*) FROM pg_database WHERE datname LIKE 'backup~_trial~_%' ESCAPE '~'"
        )
        assert cursor.fetchone()[0] == 0


def test_a_restore_that_pg_restore_leaves_in_the_middle_changes_nothing(site, programs):
    path = backup(site)
    real = shutil.which("pg_restore")
    programs(
        "pg_restore",
        f'case "$*" in *--file=-*) {real} "$@" | head -c 60000; exit 1;; *) exec {real} "$@";; esac',
    )
    with connections[site.alias].cursor() as cursor:
        cursor.execute("SELECT count(*) FROM scoring_fact")
        before = cursor.fetchone()
    with pytest.raises(BackupError, match="Nothing was changed"):
        kind_of(site.alias).restore(path / "data.dump", [])
    with connections[site.alias].cursor() as cursor:
        cursor.execute("SELECT count(*) FROM scoring_fact")
        assert cursor.fetchone() == before


def test_who_has_tables_open_is_not_waited_for_without_end(site, monkeypatch):
    monkeypatch.setattr("gymsite.backups.postgresql.LOCK_SECONDS", 1)
    path = backup(site)
    import psycopg

    params = PostgreSQL(connections[site.alias])._params()
    with psycopg.connect(**params) as other:
        other.execute("SELECT 1 FROM scoring_fact")
        with pytest.raises(BackupError, match="Stop the web server"):
            kind_of(site.alias).restore(path / "data.dump", [])
    assert settings.DATABASES["default"]["ENGINE"].endswith("postgresql")
