"""Every setting that the environment may change is told to who sets a site up."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

ROOT = Path(__file__).resolve().parent.parent.parent


def names():
    for module in ("settings/base", "settings/api", "settings/production", "gunicorn"):
        text = (ROOT / "gymsite" / f"{module}.py").read_text(encoding="utf-8")
        yield from re.findall(r'env\.\w+\(\s*"(\w+)"', text)


@pytest.mark.parametrize("name", sorted(set(names())))
def test_each_variable_is_in_the_example(name):
    assert re.search(rf"^#?{name}=", (ROOT / ".env.example").read_text(encoding="utf-8"), re.M)


def test_sqlite_takes_its_lock_when_a_transaction_begins():
    from gymsite.settings.base import SQLITE_OPTIONS

    assert SQLITE_OPTIONS["transaction_mode"] == "IMMEDIATE"
    if settings.DATABASES["default"]["ENGINE"].endswith("sqlite3"):
        assert settings.DATABASES["default"]["OPTIONS"] == SQLITE_OPTIONS
        assert "memory" not in str(settings.DATABASES["default"]["TEST"]["NAME"])


@pytest.mark.django_db
def test_what_was_answered_for_is_on_the_disk_by_then():
    if connection.vendor != "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("show synchronous_commit")
            assert cursor.fetchone()[0] == "on"
        return
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous")
        assert cursor.fetchone()[0] == 2  # FULL: the log is synced at each commit
        cursor.execute("PRAGMA journal_mode")
        assert cursor.fetchone()[0] == "wal"


def test_the_requirements_name_no_machine_and_no_index():
    for name in ("requirements.txt", "requirements-dev.txt", "requirements.in"):
        text = (ROOT / name).read_text(encoding="utf-8")
        told = "".join(line for line in text.splitlines() if not line.startswith("#"))
        assert not re.search(r"index-url|find-links|trusted-host|file:|https?://", told)
