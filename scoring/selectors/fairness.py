"""What options and loads have been worth in a gym's results, beside what coaches credit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from math import log

from scoring import access
from scoring.core.estimation.worth import Worth, told, two, verdict, worths
from scoring.core.prescription import decimal_text

from .credits import OptionRow, sheet
from .estimates import latest
from .written_credits import Key, Place, Written, boards_of, prescribed_in, swapped_loads


@dataclass(frozen=True, slots=True)
class OnBoards:
    """A credit that workouts write, in how many classes, and what results speak for in its
    place (``None`` where they aren't clear). ``places`` are where it is written."""

    credit: str
    classes: int
    suggested: str | None
    places: tuple[Place, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """An option or load with what it has been worth.

    ``option`` is its label on boards; empty for a load that no board offers as an option,
    which no entry of a table names. ``words`` tell the figure, ``verdict`` whether the credit
    is another, ``remark`` what else there is to know of it. ``suggested`` is the new credit as
    text, ``None`` where results are not clear or no table could change it. ``by_table`` counts
    the classes that leave the credit to the table, ``written`` are those that workouts write;
    where all do, ``worth`` stands beside the one that is furthest off.
    """

    worth: Worth
    movement: str
    option: str
    words: str
    verdict: str
    remark: str
    suggested: str | None
    by_table: int = 0
    written: tuple[OnBoards, ...] = ()

    @property
    def off_board(self) -> tuple[OnBoards, ...]:
        """The written credits beside which results clearly speak for another."""
        return tuple(each for each in self.written if each.suggested is not None)

    @property
    def is_finding(self) -> bool:
        """Whether results clearly speak for another credit that no entry of the table makes."""
        return bool(self.off_board) or (self.worth.is_clear and self.suggested is None)

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
    say what it rests on. ``unused`` counts options and loads without a result, ``prescribed``
    loads that are only ever as prescribed: no credit counts those.
    """

    made_at: datetime | None
    results: int
    until: datetime | None
    movements: tuple[Movement, ...]
    unused: int
    may_change: bool
    prescribed: int = 0

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

    @property
    def findings(self) -> tuple[Row, ...]:
        """The rows where workouts or the load rule credit otherwise than results speak for."""
        return tuple(row for movement in self.movements for row in movement.rows if row.is_finding)


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
    boards = boards_of(viewer.gym)
    only_prescribed = set(prescribed_in(viewer.gym_id)) - swapped_loads(viewer.gym_id)
    now = {
        way: float(Fraction(row.credit))
        for way, key in boards.offered.items()
        if (row := listed.get(key)) and row.credit is not None and not row.is_idle
    }
    grouped: dict[str, list[Row]] = {}
    unused = prescribed = 0
    for worth in worths(held.estimate, now):
        if not worth.results:
            unused += 1
            continue
        key = boards.offered.get(worth.way)
        if key is None and worth.way in only_prescribed:
            prescribed += 1
            continue
        row = listed.get(key) if key else None
        shown = _row(worth, key, row, boards.written.get(key, ()) if key else ())
        grouped.setdefault(shown.movement, []).append(shown)
    movements = tuple(
        Movement(name, tuple(sorted(rows, key=lambda r: (-r.worth.results, r.label))))
        for name, rows in sorted(grouped.items())
    )
    return Fairness(
        held.made_at, held.results, held.until, movements, unused, may_change, prescribed
    )


def _row(worth: Worth, key: Key | None, row: OptionRow | None, written: tuple[Written, ...]) -> Row:
    movement, option = key or (worth.way.movement, "")
    on_boards = tuple(_on_boards(worth, each) for each in written)
    is_idle = row is not None and row.is_idle
    if is_idle:
        beside = [worth.credited(float(each.credit)) for each in written if each.classes]
        worth = max(beside, key=lambda each: abs(log(each.credit / each.median)), default=worth)
    is_open = row is not None and not is_idle
    suggested = worth.suggestion if is_open else None
    return Row(
        worth=worth,
        movement=movement,
        option=option,
        words=told(worth, _says(row), also=_also(worth, on_boards, is_idle=is_idle)),
        verdict=verdict(worth),
        remark=_remark(row, worth, on_boards),
        suggested=None if suggested is None else decimal_text(suggested),
        by_table=row.use.open_in if row is not None else 0,
        written=on_boards,
    )


def _on_boards(worth: Worth, written: Written) -> OnBoards:
    found = worth.credited(float(written.credit)).suggestion
    return OnBoards(
        decimal_text(written.credit),
        written.classes,
        None if found is None else decimal_text(found),
        written.places,
    )


def _also(worth: Worth, written: tuple[OnBoards, ...], *, is_idle: bool) -> str:
    """The credits that workouts write beside the one already told."""
    credits = [two(float(Fraction(each.credit))) for each in written]
    if is_idle:
        return " or ".join(each for each in credits if each != two(worth.credit))
    return f"workouts write {' or '.join(credits)}" if credits else ""


def _remark(row: OptionRow | None, worth: Worth, written: tuple[OnBoards, ...]) -> str:
    """Who credits it in how many classes, where that isn't the table alone."""
    if row is None:
        if worth.suggestion is None:
            return ""
        return "The load rule credits it, and no single entry of the table can."
    if not written:
        return ""
    parts = [f"workouts write {each.credit} in {_classes(each.classes)}" for each in written]
    if not row.is_idle:
        parts.insert(0, f"the table's credit counts in {_classes(row.use.open_in)}")
    counted = ", ".join(parts)
    off = [f"{each.suggested} in place of {each.credit}" for each in written if each.suggested]
    clear = f" Results clearly speak for {', for '.join(off)} there."
    return f"{counted[:1].upper()}{counted[1:]}.{clear if off and not row.is_idle else ''}"


def _classes(count: int) -> str:
    if not count:
        return "drafts only"
    return f"{count} class{'' if count == 1 else 'es'}"


def _says(row: OptionRow | None) -> str:
    """Who says what it counts."""
    if row is not None and row.is_idle:
        return "workouts say"
    if row is None or row.credit is None:
        return "the load rule says"
    return "the usual figure is" if row.source.startswith("usual") else "the table says"
