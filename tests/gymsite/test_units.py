"""The unit files of docs/operating: systemd takes them, and what they start is there."""

import configparser
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import get_commands

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "docs" / "operating" / "systemd"
UNITS = sorted(FOLDER.iterdir())
HOME = "/srv/class-board"
# Read by systemd, by Django or by the metrics library itself, not by our settings.
OTHERS = {"DJANGO_SETTINGS_MODULE", "PROMETHEUS_MULTIPROC_DIR"}
# Backups have tests of their own, which see that their command is there.
COMMANDS = {*get_commands(), "backup"}
HARDENING = {"NoNewPrivileges": "true", "ProtectSystem": "strict", "ProtectHome": "true",
             "PrivateTmp": "true", "CapabilityBoundingSet": ""}  # fmt: skip


class Unit(dict):
    """Sections with lists of values, since a key may come more than once."""

    def __init__(self, path):
        reader = configparser.RawConfigParser(dict_type=dict, strict=False, delimiters=("=",))
        reader.optionxform = str
        section = None
        for line in path.read_text(encoding="utf-8").splitlines():
            if line.startswith("["):
                section = self.setdefault(line.strip("[]"), {})
            elif line and not line.startswith("#"):
                key, _, value = line.partition("=")
                section.setdefault(key, []).append(value)
        reader.read_string(path.read_text(encoding="utf-8"))  # raises where it is no such file


def services():
    return [path for path in UNITS if path.suffix == ".service"]


def known_variables():
    text = (ROOT / ".env.example").read_text(encoding="utf-8")
    return set(re.findall(r"^#?([A-Z_]+)=", text, re.M)) | OTHERS


def test_there_is_one_for_each_part():
    assert {path.name for path in UNITS} == {
        "class-board-web.socket", "class-board-web.service", "class-board-worker.service",
        "class-board-beat.service", "class-board-backup.service", "class-board-backup.timer",
    }  # fmt: skip


@pytest.mark.parametrize("path", UNITS, ids=lambda path: path.name)
def test_systemd_takes_it(path, tmp_path):
    """Where systemd is; the rest of these tests reads the files without it."""
    verify = shutil.which("systemd-analyze")
    if verify is None:
        assert Unit(path)
        return
    for one in UNITS:
        text = one.read_text(encoding="utf-8").replace(HOME, str(ROOT))
        (tmp_path / one.name).write_text(text, encoding="utf-8")
    told = subprocess.run(
        [verify, "verify", "--man=no", "--recursive-errors=no", str(tmp_path / path.name)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    ours = [line for line in told.stderr.splitlines() if "class-board" in line]
    assert ours == []


@pytest.mark.parametrize("path", services(), ids=lambda path: path.name)
def test_what_it_starts_is_there(path):
    for line in Unit(path)["Service"]["ExecStart"]:
        program, *words = line.split()
        assert program.startswith(f"{HOME}/.venv/bin/")
        name = Path(program).name
        assert (Path(sys.executable).parent / name).exists()
        if name == "python":
            assert words[0] == "manage.py" and words[1] in COMMANDS
        else:
            assert any(word.startswith("gymsite") or "gymsite" in word for word in words)


@pytest.mark.parametrize("path", services(), ids=lambda path: path.name)
def test_each_variable_it_sets_is_known(path):
    names = {value.split("=", 1)[0] for value in Unit(path)["Service"].get("Environment", [])}
    assert names and names <= known_variables()


@pytest.mark.parametrize("path", services(), ids=lambda path: path.name)
def test_it_may_do_no_more_than_it_needs(path):
    service = Unit(path)["Service"]
    assert service["User"] == ["board"]
    for key, value in HARDENING.items():
        assert service[key] == [value], key


def test_the_server_has_time_to_drain_and_to_end_what_is_under_way():
    service = Unit(FOLDER / "class-board-web.service")["Service"]
    waits = int(re.search(r"sleep (\d+)", service["ExecStop"][0]).group(1))
    assert int(service["TimeoutStopSec"][0]) > waits + 30
    assert "DRAIN_FILE=/run/class-board-web/draining" in service["Environment"]
    assert "/run/class-board-web/draining" in service["ExecStop"][0]


def test_backups_do_not_fill_the_disk():
    [line] = Unit(FOLDER / "class-board-backup.service")["Service"]["ExecStart"]
    assert re.search(r" --keep \d+ ", line)


def test_the_backups_age_is_watched_where_the_backup_goes():
    [line] = Unit(FOLDER / "class-board-backup.service")["Service"]["ExecStart"]
    folder = line.split()[-1]
    assert f"BACKUP_FOLDER={folder}" in (ROOT / ".env.example").read_text(encoding="utf-8")
