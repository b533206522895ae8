"""Each claim of docs/security.md is held by a test or a setting that is really there."""

import ast
import json
import re
from pathlib import Path

import pytest
from django.conf import settings

ROOT = Path(__file__).resolve().parent.parent
TEXT = (ROOT / "docs" / "security.md").read_text(encoding="utf-8")
ASKED = json.loads((ROOT / "tests" / "security" / "asvs.json").read_text(encoding="utf-8"))
ROWS = [
    tuple(cell.strip() for cell in line.strip("|").split(" | "))
    for line in TEXT.splitlines()
    if re.match(r"\| \d+\.\d+\.\d+ \|", line)
]


def number(text):
    return tuple(map(int, text.split(".")))


def test_every_item_of_the_list_has_one_row_in_order():
    told = [row[0] for row in ROWS]
    asked = [item for level in "123" for item in ASKED[level]]
    assert told == sorted(asked, key=number)
    assert len(ASKED["1"]) == 70  # all of level 1


@pytest.mark.parametrize("level", ["2", "3"])
def test_what_goes_past_level_one_says_so(level):
    rows = {row[0]: row for row in ROWS}
    assert all(f"(L{level})" in rows[item][1] for item in ASKED[level])


@pytest.mark.parametrize("row", ROWS, ids=[row[0] for row in ROWS])
def test_what_holds_it_is_there(row):
    assert len(row) == 4 and row[1] and row[2]
    held = row[3].strip("`")
    if held == "—":
        assert re.search(r"\bno\b|none", row[2])  # a reason, not a gap
        return
    if held.startswith("setting "):
        assert getattr(settings, held.removeprefix("setting "))
        return
    path, _, name = held.partition("::")
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    assert name in {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


def test_components_have_time_frames():
    told = TEXT.split("## Components")[1].split("##")[0]
    assert all(word in told for word in ("two days", "a week", "a month"))


def test_limits_are_told_as_they_are_set():
    """The table's usual limits are those of the settings, read as text: tests raise them."""
    text = "".join(
        path.read_text(encoding="utf-8") for path in (ROOT / "gymsite" / "settings").glob("*.py")
    )
    usual = dict(re.findall(r'env\.str\("THROTTLE_(\w+)", default="([^"]+)"\)', text))
    assert usual == {
        "SUBMIT": "60/min", "PREVIEW": "120/min", "INVITE": "300/hour", "JOIN": "20/min",
        "GUESS": "30/min", "TOKEN": "10/min", "SIGN_IN": "10/hour", "ADDRESS": "60/min",
        "USER": "300/min", "ANON": "60/min",
    }  # fmt: skip
    table = TEXT.split("## Limits")[1].split("##")[0]
    for rate in usual.values():
        assert rate.split("/")[0] in table
