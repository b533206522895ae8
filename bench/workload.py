"""What is measured on: one class of ordinary length, and many results in it."""

from __future__ import annotations

import csv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
WORKOUT = (ROOT / "examples" / "two-ladders.txt").read_text(encoding="utf-8")
SIZES = (50, 500, 5_000)
"""Results of the classes that are measured as they grow."""

HISTORIES = (10, 100, 1_000)
"""Results of the members whose histories are measured."""

OPTIONS = ("", "tuck rock", "knee push-up", "tuck rock; knee push-up", "tuck rock: 12")


def marks(count: int) -> list[tuple[str, str]]:
    """Marks with options, spread over the course; the same every time."""
    return [(f"{i * 7 % 9}+{i * 5 % 24}", OPTIONS[i % len(OPTIONS)]) for i in range(count)]


def write_results(path: Path, count: int) -> None:
    """A results file of so many lines."""
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out)
        writer.writerow(["name", "mark", "options", "splits", "note"])
        for number, (mark, options) in enumerate(marks(count)):
            writer.writerow([f"Member {number:05d}", mark, options, "", ""])
