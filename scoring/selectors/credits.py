"""A gym's credits as a coach reads them: what counts what, how often, since when and why."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from fractions import Fraction

from django.db.models import Count

from members.models import Gym
from scoring import access
from scoring.core.credit_changes import FIGURES, Step, steps, touched_options
from scoring.core.credit_use import Use, credit_in, labels_used, offered
from scoring.core.credits import CreditTable
from scoring.core.prescription import decimal_text
from scoring.mapping import course_of
from scoring.models import CreditTableVersion, Result, State, StreamedClass

FIGURE_WORDS = {
    "default_option": "An option nobody has credited",
    "load_slope": "Slope of the load rule (0.5: half the load counts 0.75)",
    "load_floor": "A lighter load counts at least",
    "load_ceiling": "A heavier load counts at most, in classes that allow more than 1",
}
assert set(FIGURE_WORDS) == set(FIGURES)


@dataclass(frozen=True, slots=True)
class Told:
    """A step of one value in a version: decimal texts, empty where it stood in no table.

    ``before`` and ``after`` say in words what it counted where none was set.
    """

    what: str
    movement: str
    option: str
    old: str
    new: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Version:
    """A version of a table with what it changed. ``change`` is the key of the change made
    on the pages, ``None`` for one made otherwise."""

    number: int
    at: datetime
    by: str
    reason: str
    change: int | None
    steps: tuple[Told, ...]


@dataclass(slots=True)
class OptionRow:
    """An option with its credit (``None`` by load) and how it was used.

    ``on_board`` are credits written in workouts with the number of classes; ``open_in`` the
    number of classes that leave it to the table; ``used`` counts results.
    """

    movement: str
    option: str
    credit: str | None
    source: str
    is_in_table: bool
    use: Use
    used: int = 0
    last: datetime | None = None
    history: list[tuple[Version, Told]] = field(default_factory=list)

    @property
    def on_board(self) -> list[tuple[str, int]]:
        return [(decimal_text(c), n) for c, n in sorted(self.use.on_board.items())]

    @property
    def is_own_load(self) -> bool:
        """Whether members chose the load themselves, so that no board offers it."""
        return self.use.load and not self.use.open_in and not self.use.on_board

    @property
    def is_idle(self) -> bool:
        """Whether changing the table moves nothing: every board that offers it has its own."""
        return self.use.is_fixed


@dataclass(frozen=True, slots=True)
class Movement:
    name: str
    options: tuple[OptionRow, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """The newest version of a table, its figures and all options by movement.

    ``figures`` are name, value and what it means.
    """

    version: CreditTableVersion | None
    figures: tuple[tuple[str, str, str], ...]
    movements: tuple[Movement, ...]
    may_change: bool


OWN_LOAD = "another load"


def newest(gym: Gym) -> CreditTableVersion | None:
    """The version new classes count by; ``None`` before the gym has its first."""
    return CreditTableVersion.objects.filter(gym=gym).order_by("-version").first()


def told_step(step: Step, old: CreditTable, new: CreditTable) -> Told:
    """A step from one table to another, in words."""

    def text(value: Fraction | None) -> str:
        return "" if value is None else decimal_text(value)

    def words(value: Fraction | None, table: CreditTable) -> str:
        by_load = step.option.startswith(f"{step.movement} @ ")
        if value is None and not by_load:
            counts = credit_in(table, step.movement, step.option, by_load=False)[0]
            return f"not set, so {text(counts)}"
        return "not set, so by load" if value is None else text(value)

    what = (
        f"{step.option} for {step.movement}" if step.movement else FIGURE_WORDS.get(step.option, "")
    )
    return Told(
        what,
        step.movement,
        step.option,
        text(step.old),
        text(step.new),
        words(step.old, old),
        words(step.new, new),
    )


def told_steps(old: CreditTable, new: CreditTable) -> tuple[Told, ...]:
    """What differs between two tables, in words."""
    return tuple(told_step(step, old, new) for step in steps(old, new))


def versions(*, viewer: access.Viewer) -> list[Version]:
    """Every version of the gym's table, the newest first; empty for who is no coach."""
    if viewer is None or not access.may_manage_gym(viewer):
        return []
    found: list[Version] = []
    before = CreditTable()
    rows = (
        CreditTableVersion.objects.filter(gym=viewer.gym_id)
        .select_related("created_by", "change")
        .order_by("version")
    )
    for row in rows:
        table = CreditTable.from_dict(row.rules)
        change = getattr(row, "change", None)
        found.append(
            Version(
                number=row.version,
                at=row.created_at,
                by=row.created_by.display_name if row.created_by else "",
                reason=row.reason,
                change=change.pk if change else None,
                steps=told_steps(before, table),
            )
        )
        before = table
    return found[::-1]


def _classes(gym_id: int) -> Iterator[StreamedClass]:
    return iter(
        StreamedClass.objects.filter(gym=gym_id)
        .exclude(state=State.DRAFT)
        .select_related("workout")
        .order_by("pk")
    )


def _uses(gym_id: int) -> dict[tuple[str, str], OptionRow]:
    """Every option that a class offers or a result used, by movement and label."""
    rows: dict[tuple[str, str], OptionRow] = {}

    def row(movement: str, option: str, load: bool) -> OptionRow:
        key = (movement, option)
        if key not in rows:
            rows[key] = OptionRow(movement, option, None, "", False, Use(movement, option, load))
        return rows[key]

    lines: dict[int, tuple[StreamedClass, dict[str, tuple[str, dict[str, str]]]]] = {}
    for streamed in _classes(gym_id):
        course = course_of(streamed)
        for movement, option, credit, by_load in offered(course):
            use = row(movement, option, by_load).use
            if credit is None:
                use.open_in += 1
            else:
                use.on_board[credit] = use.on_board.get(credit, 0) + 1
        lines[streamed.pk] = (
            streamed,
            {
                line.number: (
                    line.line.movement,
                    {
                        name: option.label
                        for option in line.line.options
                        for name in (option.movement, option.label)
                    },
                )
                for line in course.lines
            },
        )
    counted = (
        Result.objects.filter(streamed_class__gym=gym_id, current__is_withdrawn=False)
        .exclude(current__options="")
        .order_by()
        .values_list("streamed_class_id", "current__options")
        .annotate(count=Count("pk"))
    )
    for class_id, options, count in counted.iterator():
        if class_id not in lines:
            continue
        streamed, by_number = lines[class_id]
        for number, label in dict.fromkeys(labels_used(options)):
            movement, labels = by_number.get(number, ("", {}))
            base = label.partition(" @ ")[0]
            if not movement or label == movement:
                continue
            if found := labels.get(label):
                used = row(movement, found, False)
            elif base == movement:
                used = row(movement, OWN_LOAD, True)
            else:
                used = row(movement, labels.get(base, base), False)
            used.used += count
            if used.last is None or used.last < streamed.starts_at:
                used.last = streamed.starts_at
    return rows


def sheet(*, viewer: access.Viewer, query: str = "") -> Sheet | None:
    """All options of a gym with their credits; ``None`` for who is no coach.

    ``query`` keeps movements with it in their own name or an option's.
    """
    if viewer is None or not access.may_manage_gym(viewer):
        return None
    version = newest(viewer.gym)
    table = CreditTable.from_dict(version.rules) if version else CreditTable()
    rows = _uses(viewer.gym_id)
    for movement, option in table.options:
        rows.setdefault(
            (movement, option), OptionRow(movement, option, None, "", True, Use(movement, option))
        )
    for row in rows.values():
        row.is_in_table = (row.movement, row.option) in table.options
        credit, row.source = credit_in(table, row.movement, row.option, by_load=row.use.load)
        row.credit = None if credit is None else decimal_text(credit)
    for past in versions(viewer=viewer):
        for step in past.steps:
            if step.movement and (step.movement, step.option) in rows:
                rows[step.movement, step.option].history.append((past, step))
    wanted = query.strip().lower()
    grouped: dict[str, list[OptionRow]] = {}
    for row in rows.values():
        grouped.setdefault(row.movement, []).append(row)
    movements = [
        Movement(name, tuple(sorted(found, key=lambda r: (r.is_own_load, -r.used, r.option))))
        for name, found in sorted(grouped.items())
        if wanted in name or any(wanted in row.option for row in found)
    ]
    figures = tuple(
        (name, decimal_text(getattr(table, name)), FIGURE_WORDS[name]) for name in FIGURES
    )
    return Sheet(version, figures, tuple(movements), access.may_change_credits(viewer))


def board_beats(*, viewer: access.Viewer, keys: list[tuple[str, str]]) -> list[tuple[str, int]]:
    """Options that some classes' boards credit themselves, so a table change does nothing
    there, with the number of those classes."""
    if viewer is None or not access.may_manage_gym(viewer):
        return []
    found: dict[str, int] = {}
    for streamed in _classes(viewer.gym_id):
        for label in touched_options(course_of(streamed), keys)[1]:
            found[label] = found.get(label, 0) + 1
    return sorted(found.items())
