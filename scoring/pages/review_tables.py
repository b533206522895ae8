"""Tables and bars of a review, as text for its template."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from scoring.core.comparing import FEW
from scoring.core.figures import figure
from scoring.core.passed import FEWEST, Passed, Slow
from scoring.core.prescription import clock_text
from scoring.core.told_class import percent, signed
from scoring.core.used import LineUse
from scoring.selectors.review import Effort, Review
from scoring.selectors.review_before import Then
from scoring.selectors.review_rows import Row

BAR = 200
ROW = 24


@dataclass(frozen=True, slots=True)
class Stopped:
    """Who stopped in a rung or round, and in which of its sets, in words; ``width`` is of its
    bar, in hundredths of the longest."""

    where: str
    sets: str
    count: int
    prescribed: int
    share: str
    by_here: str
    width: int


def stopped_table(found: Review) -> list[Stopped]:
    """Who stopped in which rung or round, with shares of all who logged; the finish last."""
    total = found.logged
    rounds = [(where, list(rows)) for where, rows in groupby(found.stopped, lambda r: r.where)]
    counts = [sum(row.count for row in rows) for _, rows in rounds]
    return [
        Stopped(
            where=where,
            sets=", ".join(
                f"{row.movement.partition(' ')[2]} {row.count}" for row in rows if row.movement
            ),
            count=count,
            prescribed=sum(row.prescribed for row in rows),
            share=percent(count, total),
            by_here=percent(int(rows[-1].by_here * total), total),
            width=max(1, round(100 * count / max(counts))),
        )
        for (where, rows), count in zip(rounds, counts, strict=True)
    ]


@dataclass(frozen=True, slots=True)
class SlowRow:
    row: Row
    clock: str
    more: str


@dataclass(frozen=True, slots=True)
class Block:
    """When a class passed a block: as text, with the plan and the difference."""

    passed: Passed
    title: str
    low: str
    half: str
    high: str
    plan: str
    against: str
    slow: list[SlowRow]
    is_few: bool


def blocks_table(found: Review) -> list[Block]:
    """The clock at the end of each block, the reference beside it."""
    by_id = found.row_by_id
    return [
        Block(
            passed=row,
            title=f"block {row.block}",
            low=clock_text(round(row.quarters[0])) if row.quarters else "–",
            half=clock_text(round(row.quarters[1])) if row.quarters else "–",
            high=clock_text(round(row.quarters[2])) if row.quarters else "–",
            plan=clock_text(round(row.reference)),
            against=_against(row.middle, row.reference),
            slow=[
                SlowRow(
                    by_id[slow.id], clock_text(round(slow.seconds)), f"{round(slow.more * 100)} %"
                )
                for slow in row.slow
            ],
            is_few=0 < row.noted < FEWEST,
        )
        for row in found.passed
    ]


def _slow(row: Row, slow: Slow) -> SlowRow:
    return SlowRow(row, clock_text(round(slow.seconds)), f"{round(slow.more * 100)} %")


def _against(middle: Fraction | None, plan: Fraction) -> str:
    """``1:05 later``, ``0:20 sooner``, ``as planned``; nothing where nobody noted it."""
    if middle is None:
        return "–"
    late = round(middle) - round(plan)
    if not late:
        return "as planned"
    return f"{clock_text(abs(late))} {'later' if late > 0 else 'sooner'}"


@dataclass(frozen=True, slots=True)
class WayRow:
    label: str
    is_prescribed: bool
    credit: str
    source: str
    count: int
    share: str
    reps: int
    median: str


def used_table(found: Review) -> list[tuple[LineUse, list[WayRow]]]:
    """The ways of doing each movement that somebody got to."""
    return [
        (
            use,
            [
                WayRow(
                    way.label,
                    way.prescribed,
                    figure(way.credit, most=4),
                    way.source,
                    way.count,
                    percent(way.count, use.there),
                    way.reps,
                    way.median,
                )
                for way in use.ways
            ],
        )
        for use in found.used
    ]


@dataclass(frozen=True, slots=True)
class Bar:
    """How many told one figure of effort: a bar in a picture, and a row of a table."""

    effort: int
    count: int
    share: str
    y: int
    text_y: int
    width: int


def effort_bars(effort: Effort) -> list[Bar]:
    """From the lowest to the highest figure that anybody told; empty for nobody."""
    told = [figure for figure, count in enumerate(effort.counts) if count]
    if not told:
        return []
    most = max(effort.counts)
    return [
        Bar(
            number,
            effort.counts[number],
            percent(effort.counts[number], effort.told),
            position * ROW + 3,
            position * ROW + 16,
            round(BAR * effort.counts[number] / most),
        )
        for position, number in enumerate(range(told[0], told[-1] + 1))
    ]


@dataclass(frozen=True, slots=True)
class ThenRow:
    then: Then
    percent: str


@dataclass(frozen=True, slots=True)
class Last:
    """The last time beside this one. ``is_few`` says that it could be chance."""

    both: list[ThenRow]
    percent: str
    between: str
    is_few: bool
    is_sure: bool
    half_then: str
    half_now: str
    unit: str


def _half(value: Fraction, *, is_lift: bool) -> str:
    """Kilograms, or reps a minute with one decimal, also a zero: the two stand side by side."""
    return figure(value, most=1) if is_lift else f"{float(value * 60):.1f}"


def last_table(found: Review) -> Last | None:
    """The group's change and everybody's own; ``None`` for a first time."""
    last = found.before.last
    if last is None:
        return None
    change = last.change
    between, is_sure = "", False
    if change and change.low is not None and change.high is not None:
        between = f"{signed(change.low)} to {signed(change.high)} %"
        is_sure = not change.low <= 0 <= change.high
    is_lift = found.kind == "lift"
    return Last(
        both=[
            ThenRow(then, "" if then.percent is None else f"{signed(then.percent)} %")
            for then in last.both
        ],
        percent=f"{signed(change.percent)} %" if change else "",
        between=between,
        is_few=change is not None and change.count < FEW,
        is_sure=is_sure,
        half_then=_half(last.half_then, is_lift=is_lift),
        half_now=_half(last.half_now, is_lift=is_lift),
        unit="kg" if is_lift else "credited reps a minute",
    )
