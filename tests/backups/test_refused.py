"""What is no whole backup of this kind and program is refused, and nothing is touched."""

import json
import os
import signal
import subprocess
import sys

import pytest

from gymsite.backups import BackupError
from gymsite.backups.kinds import kind_of
from gymsite.backups.manifest import backups_in, read_manifest

from ..upgrade.places import ROOT, is_sqlite
from .looking import backup, digests, rewrite


@pytest.fixture
def made(site):
    return backup(site)


def refused(site, path):
    """What is said, when the database is as it was."""
    before = digests(site)
    said = site.manage("restore", path, "--replace", ok=False)
    assert digests(site) == before
    assert "Traceback" not in said
    return said


def data_of(path):
    return path / read_manifest(path).file


def test_a_damaged_file(site, made):
    data = data_of(made)
    whole = bytearray(data.read_bytes())
    whole[len(whole) // 2] ^= 0xFF
    data.write_bytes(whole)
    assert "damaged" in refused(site, made)


def test_a_file_cut_off(site, made):
    data = data_of(made)
    os.truncate(data, data.stat().st_size - 4096)
    assert "cut off" in refused(site, made)


def test_a_file_that_is_missing_and_a_manifest_that_is(site, made):
    data_of(made).unlink()
    assert "is missing" in refused(site, made)
    (made / "manifest.json").unlink()
    assert "no whole backup" in refused(site, made)


def test_a_manifest_that_says_nothing(site, made):
    (made / "manifest.json").write_text("{")
    assert "damaged" in refused(site, made)


def test_a_file_whose_rows_are_not_those_told(site, made):
    told = json.loads((made / "manifest.json").read_text())["rows"]
    rewrite(made, rows=told | {"no_such_table": 1})
    assert "no_such_table" in refused(site, made)


def test_another_kind_of_database_and_what_to_do_then(site, made):
    other = "postgresql" if is_sqlite() else "sqlite"
    rewrite(made, kind=other)
    said = refused(site, made)
    assert "DATABASE_URL" in said
    assert ("move_to" in said) == (other == "sqlite")


def test_a_newer_program_s(site, made):
    told = json.loads((made / "manifest.json").read_text())["migrations"]
    rewrite(made, migrations=told | {"scoring": [*told["scoring"], "0999_of_tomorrow"]})
    said = refused(site, made)
    assert "newer program" in said and "scoring.0999_of_tomorrow" in said


def test_a_folder_of_backups_is_none_and_lists_them(site, made):
    assert made.name in refused(site, made.parent)


def test_a_restore_that_fails_half_way_leaves_everything_as_it_was(site, made):
    before = digests(site)
    kind = kind_of(site.alias)
    with pytest.raises(BackupError):
        kind.restore(data_of(made), ["UPDATE scoring_fact SET note = 'x'", "no statement at all"])
    assert digests(site) == before


SLOW = """
import time, django
django.setup()
from gymsite.backups import kinds, make_backup
from gymsite.backups.sqlite import SQLite
from gymsite.backups.postgresql import PostgreSQL
import pathlib, sys

def stands_still(*args, **kwargs):
    print("copied", flush=True)
    time.sleep(600)

SQLite.check = PostgreSQL.check = stands_still
make_backup(pathlib.Path(sys.argv[1]))
"""


def test_a_backup_that_was_killed_is_never_taken_for_one(site):
    folder = site.folder / "backups"
    process = subprocess.Popen(
        [sys.executable, "-c", SLOW, str(folder)],
        cwd=ROOT, env=site.environment, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        assert process.stdout.readline().strip() == "copied"
    finally:
        process.send_signal(signal.SIGKILL)
        process.wait(timeout=30)
        process.stdout.close()
    assert backups_in(folder) == []
    assert "no whole backup" in refused(site, folder)
    whole = backup(site)
    assert backups_in(folder) == [whole]


def test_what_is_no_database_can_t_be_backed_up_and_leaves_nothing(empty):
    said = empty.manage("backup", empty.folder / "backups", ok=False)
    assert "Traceback" not in said
    assert list((empty.folder / "backups").iterdir()) == []
