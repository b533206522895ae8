"""An arrow may only point down: the layers, checked where everybody runs tests."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


def imports(path):
    """Every module a file imports, wherever in the file."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            yield node.module


def test_the_contracts_of_pyproject_are_kept():
    told = subprocess.run(
        [Path(sys.executable).parent / "lint-imports", "--no-cache"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 0, told.stdout + told.stderr


def test_members_names_scoring_nowhere():
    files = list((ROOT / "members").rglob("*.py"))
    assert files
    for path in files:
        assert not any(name.split(".")[0] == "scoring" for name in imports(path)), path


def test_the_core_loads_without_django():
    # A fresh interpreter, in which importing Django is an error.
    script = """
import importlib, pkgutil, sys
sys.modules["django"] = None
import scoring.core
for found in pkgutil.walk_packages(scoring.core.__path__, "scoring.core."):
    importlib.import_module(found.name)
"""
    told = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert told.returncode == 0, told.stderr


@pytest.mark.parametrize("word", ["datetime.now", "time.time(", "date.today", "timezone.now"])
def test_the_core_has_no_clock(word):
    for path in (ROOT / "scoring" / "core").rglob("*.py"):
        assert word not in path.read_text(encoding="utf-8"), path


def test_migrations_import_no_code_that_may_change():
    for path in ROOT.glob("*/migrations/0*.py"):
        ours = {
            name
            for name in imports(path)
            if name.split(".")[0] in ("scoring", "members", "gymsite")
        }
        # How an index comes without a long lock is said once, and is no code of rows.
        ours -= {name for name in ours if name.startswith("gymsite.gently")}
        # Managers, validators and defaults that a field names come from models.
        assert all(name.endswith(".models") or ".models." in name for name in ours), path
