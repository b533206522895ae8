"""How much of everything so many members need, reckoned from what was measured.

``python -m bench.capacity`` prints the table of docs/operating/capacity.md anew;
``--members 50000`` adds a size. The formulas stand in that page, in words.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from dataclasses import dataclass, fields
from pathlib import Path

MEASURED = Path(__file__).resolve().parent.parent / "docs" / "operating" / "measured.json"
SIZES = (500, 5_000, 50_000, 200_000, 1_000_000)


@dataclass(frozen=True, slots=True)
class Constants:
    """What one thing costs, as measured: bytes, and seconds of one core."""

    bytes_result: float
    wal_result: float
    bytes_board_entry: float
    cpu_submit: float
    cpu_opened: float
    cpu_board: float
    cpu_board_unchanged: float
    estimate_seconds: float
    estimate_bytes: float
    estimate_results: float
    fixed_bytes_estimate: float

    @classmethod
    def read(cls, path: Path = MEASURED) -> Constants:
        """Raises ``KeyError`` for a figure that is missing."""
        told = json.loads(path.read_text(encoding="utf-8"))
        return cls(**{field.name: float(told[field.name]["value"]) for field in fields(cls)})


@dataclass(frozen=True, slots=True)
class Habits:
    """How a gym is used. Suppositions, not measurements: change them for your own.

    ``peak`` is which share of an evening's classes ends in the same ``rush`` seconds, in which
    all of their members log and look at the board every ``refresh`` seconds.
    """

    members_a_class: int = 200
    classes_a_week: float = 1.0
    members_a_gym: int = 1_000
    peak: float = 0.25
    rush: float = 300.0
    refresh: float = 15.0
    looking: float = 0.5
    changed: float = 0.5
    evenings: int = 1
    e_mails_a_result: float = 0.5
    e_mail_hours: float = 3.0
    open_hours: float = 24.0
    utilisation: float = 0.5
    cores: int = 4
    years_of_results: float = 2.0
    night_hours: float = 4.0
    worker_processes: int = 2


@dataclass(frozen=True, slots=True)
class Need:
    """What so many members need."""

    members: int
    classes_evening: float
    results_year: float
    results_second: float
    reads_second: float
    web_cores: float
    web_machines: int
    gigabytes_year: float
    wal_megabytes_second: float
    redis_megabytes: float
    estimate_hours: float
    estimate_processes: int
    estimate_gigabytes: float
    e_mails_second: float


def need(members: int, cost: Constants, habit: Habits | None = None) -> Need:
    """What so many members need, by the formulas of the page."""
    use = habit or Habits()
    week = members * use.classes_a_week
    evening = week / use.evenings
    at_once = evening * use.peak
    results_second = at_once / use.rush
    reads_second = at_once * use.looking / use.refresh
    read_cost = use.changed * cost.cpu_board + (1 - use.changed) * cost.cpu_board_unchanged
    logged_cost = cost.cpu_submit + cost.cpu_opened
    web_cores = (results_second * logged_cost + reads_second * read_cost) / use.utilisation
    year = week * 52
    gyms = math.ceil(members / use.members_a_gym)
    results_gym = year * use.years_of_results / gyms
    fit = results_gym / cost.estimate_results
    estimate_seconds = gyms * fit * cost.estimate_seconds
    return Need(
        members=members,
        classes_evening=evening / use.members_a_class,
        results_year=year,
        results_second=results_second,
        reads_second=reads_second,
        web_cores=web_cores,
        web_machines=max(1, math.ceil(web_cores / use.cores)),
        gigabytes_year=year * cost.bytes_result / 1e9,
        wal_megabytes_second=results_second * cost.wal_result / 1e6,
        redis_megabytes=evening * cost.bytes_board_entry * use.open_hours / 24 / 1e6,
        estimate_hours=estimate_seconds / 3600,
        estimate_processes=max(1, math.ceil(estimate_seconds / 3600 / use.night_hours)),
        estimate_gigabytes=(cost.fixed_bytes_estimate + fit * cost.estimate_bytes) / 1e9,
        e_mails_second=evening * use.e_mails_a_result / (use.e_mail_hours * 3600),
    )


HEAD = (
    ("members", "members", "{:,.0f}"),
    ("classes an evening", "classes_evening", "{:,.0f}"),
    ("results/s at the peak", "results_second", "{:,.1f}"),
    ("board reads/s", "reads_second", "{:,.0f}"),
    ("web cores", "web_cores", "{:,.1f}"),
    ("web machines", "web_machines", "{:,.0f}"),
    ("database GB/year", "gigabytes_year", "{:,.2f}"),
    ("WAL MB/s at the peak", "wal_megabytes_second", "{:,.2f}"),
    ("Redis MB", "redis_megabytes", "{:,.0f}"),
    ("estimates, core hours a night", "estimate_hours", "{:,.1f}"),
    ("processes for them", "estimate_processes", "{:,.0f}"),
    ("GB each", "estimate_gigabytes", "{:,.1f}"),
    ("e-mails/s", "e_mails_second", "{:,.1f}"),
)


def table(needs: list[Need]) -> str:
    """A table in Markdown, a size a column."""
    rows = [
        [title, *(form.format(getattr(one, name)) for one in needs)] for title, name, form in HEAD
    ]
    head, *rest = rows
    lines = [head, ["---"] + ["---:"] * len(needs), *rest]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Reckon what so many members need.")
    parser.add_argument("--members", type=int, action="append", help="a size of your own")
    asked = parser.parse_args(arguments)
    cost = Constants.read()
    sizes = asked.members or SIZES
    print(table([need(size, cost) for size in sizes]))
    return 0


if __name__ == "__main__":
    sys.exit(main())
