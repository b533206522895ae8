"""One table of what was measured, beside what it should be."""

from __future__ import annotations

import os
import platform
from dataclasses import dataclass, field

import django


@dataclass(frozen=True, slots=True)
class Line:
    """``aim`` is a limit in the unit of ``value``; ``at_least`` says on which side of it."""

    what: str
    value: float
    unit: str
    aim: float | None = None
    at_least: bool = False

    @property
    def verdict(self) -> str:
        if self.aim is None:
            return ""
        met = self.value >= self.aim if self.at_least else self.value <= self.aim
        return f"{'at least' if self.at_least else 'at most'} {self.aim:g}: " + (
            "met" if met else "MISSED"
        )


@dataclass(slots=True)
class Report:
    lines: list[Line] = field(default_factory=list)

    def add(
        self,
        what: str,
        value: float,
        unit: str,
        *,
        aim: float | None = None,
        at_least: bool = False,
    ) -> None:
        self.lines.append(Line(what, value, unit, aim, at_least))

    def text(self) -> str:
        widest = max(len(line.what) for line in self.lines)
        return "\n".join(
            f"{line.what:<{widest}}  {line.value:>10,.2f} {line.unit:<12} {line.verdict}".rstrip()
            for line in self.lines
        )


def facts() -> str:
    """The machine and what runs on it."""
    where = "PostgreSQL" if os.environ.get("DATABASE_URL", "").startswith("postgres") else "SQLite"
    store = "Redis" if os.environ.get("REDIS_URL") else "the database"
    return (
        f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}, "
        f"Django {django.get_version()}, {where}, boards from {store}"
    )
