"""One table of what was measured, beside what it should be."""

from __future__ import annotations

import os
import platform
from dataclasses import dataclass, field
from textwrap import wrap

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
        return f"{'at least' if self.at_least else 'at most'} {self.aim:.3g}: " + (
            "met" if met else "MISSED"
        )


@dataclass(slots=True)
class Report:
    """Lines in the order they were measured; a text among them says what follows."""

    lines: list[Line] = field(default_factory=list)
    heads: dict[int, str] = field(default_factory=dict)

    def head(self, text: str) -> None:
        """Say what the following lines are about."""
        self.heads[len(self.lines)] = text

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
        told = [f"{'what':<{widest}}  {'measured':>10} {'':<12} aim"]
        for number, line in enumerate(self.lines):
            if number in self.heads:
                told += ["", *wrap(self.heads[number], 80)]
            # A ratio close to its aim must not look like it.
            value = f"{line.value:,.{2 if line.unit else 3}f}"
            told.append(f"{line.what:<{widest}}  {value:>10} {line.unit:<12} {line.verdict}")
        return "\n".join(text.rstrip() for text in told)


def facts() -> str:
    """The machine and what runs on it."""
    where = "PostgreSQL" if os.environ.get("DATABASE_URL", "").startswith("postgres") else "SQLite"
    store = "Redis" if os.environ.get("REDIS_URL") else "the database"
    return (
        f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}, "
        f"Django {django.get_version()}, {where}, boards from {store}, "
        f"load {os.getloadavg()[0]:.1f} at the start"
    )
