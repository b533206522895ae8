"""What options and loads have been worth in a gym's results, beside what coaches credit."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from members.models import Gym
from scoring import access
from scoring.core.credits import Choice
from scoring.core.estimation.naming import way_of
from scoring.core.estimation.ways import Way
from scoring.core.estimation.worth import Worth, told, worths
from scoring.core.prescription import decimal_text
from scoring.mapping import course_of
from scoring.models import State, StreamedClass

from .credits import OptionRow, sheet
from .estimates import latest

Key = tuple[str, str]
"""A movement and an option's label, as a credit table has them."""


@dataclass(frozen=True, slots=True)
class Row:
    """An option or load with what it has been worth.

    ``option`` is its label on boards; empty for a load that no board offers as an option,
    which no entry of a table names. ``words`` tell the figure, ``remark`` what else there is
    to know of it. ``suggested`` is the new credit as text, ``None`` where results are
    not clear or no table could change it.
    """

    worth: Worth
    movement: str
    option: str
    words: str
    remark: str
    suggested: str | None

    @property
    def label(self) -> str:
        """What it is called, whether boards offer it or not."""
        return self.option or self.worth.way.label


@dataclass(frozen=True, slots=True)
class Movement:
    name: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Fairness:
    """All that results say of a gym's options, by movement.

    ``made_at`` is ``None`` where nothing has been worked out yet; ``results`` and ``until``
    say what it rests on. ``unused`` counts options and loads without a result.
    """

    made_at: datetime | None
    results: int
    until: datetime | None
    movements: tuple[Movement, ...]
    unused: int
    may_change: bool

    def named(self, query: str) -> tuple[Movement, ...]:
        """Movements with a text in their own name or an option's."""
        wanted = query.strip().lower()
        return tuple(
            movement
            for movement in self.movements
            if wanted in movement.name or any(wanted in row.label for row in movement.rows)
        )

    @property
    def suggestions(self) -> tuple[Row, ...]:
        """The rows for which another credit is suggested."""
        return tuple(
            row for movement in self.movements for row in movement.rows if row.suggested is not None
        )


def fairness(*, viewer: access.Viewer) -> Fairness | None:
    """What options have been worth; ``None`` for who is no coach."""
    if viewer is None or not access.may_manage_gym(viewer):
        return None
    told_sheet, held = sheet(viewer=viewer), latest(gym_id=viewer.gym_id)
    assert told_sheet is not None  # the same gate
    may_change = told_sheet.may_change
    if held is None or held.is_prior:
        return Fairness(None, 0, None, (), 0, may_change)
    listed = {
        (row.movement, row.option): row
        for movement in told_sheet.movements
        for row in movement.options
    }
    offered = _offered(viewer.gym)
    now = {
        way: float(Fraction(row.credit))
        for way, key in offered.items()
        if (row := listed.get(key)) and row.credit is not None and not row.is_idle
    }
    grouped: dict[str, list[Row]] = {}
    unused = 0
    for worth in worths(held.estimate, now):
        if not worth.results:
            unused += 1
            continue
        key = offered.get(worth.way)
        shown = _row(worth, key, listed.get(key) if key else None)
        grouped.setdefault(shown.movement, []).append(shown)
    movements = tuple(
        Movement(name, tuple(sorted(rows, key=lambda r: (-r.worth.results, r.label))))
        for name, rows in sorted(grouped.items())
    )
    return Fairness(held.made_at, held.results, held.until, movements, unused, may_change)


def _offered(gym: Gym) -> dict[Way, Key]:
    """How boards call each way that they offer: movement and label, the most usual one."""
    found: dict[Way, Counter[Key]] = {}
    classes = (
        StreamedClass.objects.filter(gym=gym)
        .exclude(state=State.DRAFT)
        .select_related("workout")
        .order_by("pk")
    )
    for streamed in classes:
        for line in course_of(streamed).lines:
            for number, option in enumerate(line.line.options):
                way = way_of(line, Choice(line.index, number))
                found.setdefault(way, Counter())[line.line.movement, option.label] += 1
    return {way: min(keys, key=lambda key: (-keys[key], key)) for way, keys in found.items()}


def _row(worth: Worth, key: Key | None, row: OptionRow | None) -> Row:
    movement, option = key or (worth.way.movement, "")
    words = told(worth, _says(row))
    suggested = worth.suggestion
    remark = ""
    if row is None:
        if suggested is not None:
            remark = (
                f"Results speak for {decimal_text(suggested)}, but no board offers this load as an "
                "option: the load rule credits it, and no single entry of the table can."
            )
    elif row.is_idle:
        if suggested is not None:
            remark = (
                f"Results speak for {decimal_text(suggested)}, but every workout that offers it "
                "writes its own credit: change it there."
            )
    elif row.on_board:
        classes = sum(count for _, count in row.on_board)
        remark = (
            f"In {classes} class{'' if classes == 1 else 'es'} the workout writes its own credit, "
            "which stays."
        )
    is_open = row is not None and not row.is_idle and suggested is not None
    return Row(
        worth=worth,
        movement=movement,
        option=option,
        words=words,
        remark=remark,
        suggested=decimal_text(suggested) if is_open and suggested is not None else None,
    )


def _says(row: OptionRow | None) -> str:
    """Who says what it counts."""
    if row is not None and row.is_idle:
        return "workouts say"
    if row is None or row.credit is None:
        return "the load rule says"
    return "the usual figure is" if row.source.startswith("usual") else "the table says"
