"""Puts the tables into docs/operating/capacity.md: ``python -m bench.capacity_page``."""

from __future__ import annotations

import json
import re
from pathlib import Path

from bench.capacity import MEASURED, SIZES, Constants, need, table

PAGE = MEASURED.with_name("capacity.md")


def measured_table() -> str:
    """What was measured, a figure a line."""
    told = json.loads(MEASURED.read_text(encoding="utf-8"))
    lines = ["| figure | value | unit | how |", "| --- | ---: | --- | --- |"]
    for name, one in told.items():
        star = "" if one["final"] else " *"
        lines.append(f"| `{name}` | {one['value']:,}{star} | {one['unit']} | {one['how']} |")
    if not all(one["final"] for one in told.values()):
        lines += ["", "\\* measured while other work ran on the machine."]
    return "\n".join(lines)


def filled(text: str) -> str:
    """The page with its tables made anew."""
    cost = Constants.read()
    parts = {
        "measured": measured_table(),
        "table": table([need(size, cost) for size in SIZES]),
    }
    for name, part in parts.items():
        pattern = rf"(<!-- {name} -->\n).*?(<!-- /{name} -->)"
        text, found = re.subn(pattern, lambda m, p=part: f"{m[1]}{p}\n{m[2]}", text, flags=re.S)
        assert found == 1, name
    return text


def main(page: Path = PAGE) -> None:
    page.write_text(filled(page.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main()
