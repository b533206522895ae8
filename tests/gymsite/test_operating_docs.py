"""The pages of docs/operating name variables, units, commands and files that there are."""

import re
from pathlib import Path

import pytest
from django.core.management import get_commands

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "docs" / "operating"
PAGES = sorted(FOLDER.glob("*.md"))
EXAMPLE = set(
    re.findall(r"^#?([A-Z_]+)=", (ROOT / ".env.example").read_text(encoding="utf-8"), re.M)
)
# Backups have tests of their own, which see that their command is there.
COMMANDS = {*get_commands(), "backup"}
# PostgreSQL's, systemd's and SQL's own words in capitals.
OURS = re.compile(
    r"\b((?:WEB|DATABASE|REDIS|CELERY|WORKER|METRICS|BACKUP|DRAIN|EMAIL|LOG|THROTTLE|ALLOWED|SECRET"
    r"|TRUSTED|BEHIND|HSTS|DEFAULT|OWN|SITE)_[A-Z_]*[A-Z])\b(?!…)"
)


def text(page):
    return page.read_text(encoding="utf-8")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_each_variable_is_in_the_example(page):
    assert set(OURS.findall(text(page))) <= EXAMPLE


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_each_link_leads_somewhere(page):
    for target in re.findall(r"\]\(([^)#]+)\)", text(page)):
        assert (FOLDER / target).exists(), target


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_each_unit_is_there(page):
    named = set(re.findall(r"class-board-[a-z]+\.(?:service|socket|timer)", text(page)))
    assert named <= {path.name for path in (FOLDER / "systemd").iterdir()}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_each_command_of_manage_is_there(page):
    named = set(re.findall(r"`manage\.py ([a-z_]+)", text(page)))
    assert named <= COMMANDS


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_commands_are_those_of_the_units(page):
    units = "".join(text(path) for path in (FOLDER / "systemd").glob("*.service"))
    for line in re.findall(r"`((?:gunicorn|celery) [^`]+)`", text(page)):
        assert line in units, line
