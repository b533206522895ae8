"""A score opened up: each set, option, reps and credit, and sentences that explain it."""

from __future__ import annotations

from dataclasses import dataclass, fields
from fractions import Fraction

from . import catalogue
from .course import Course
from .credits import Portion
from .figures import figure
from .marks import Caught, Finished, IntervalReps, Lifted, mark_text
from .prescription import BlockKind, clock_text
from .scoring import Result, Rules, Score, score


@dataclass(frozen=True, slots=True)
class Row:
    """Reps of one set (or of the full rounds of an AMRAP) done in one way.

    ``credited`` is reps × credit, in reference seconds where the class weighs reps, in
    kilograms in a strength piece.
    """

    line: str
    where: str
    movement: str
    done_as: str
    prescribed: bool
    reps: int
    credit: str
    credited: str
    source: str


_ROW = tuple(field.name for field in fields(Row))


@dataclass(frozen=True, slots=True)
class Breakdown:
    """Rows in course order and the sentences that tell them."""

    rows: tuple[Row, ...]
    sentences: tuple[str, ...]
    sides: tuple[tuple[str, int, int], ...]

    def to_json(self) -> dict[str, object]:
        """Plain data: ``{"rows": [...], "sentences": [...], "sides": [...]}``."""
        return {
            "rows": [{name: getattr(row, name) for name in _ROW} for row in self.rows],
            "sentences": list(self.sentences),
            "sides": [
                {"movement": movement, "starting_side": one, "other_side": other}
                for movement, one, other in self.sides
            ],
        }


def breakdown(
    course: Course, result: Result, rules: Rules, scored: Score | None = None
) -> Breakdown:
    """Open a result's score up.

    ``scored`` saves scoring it again. Raises ``ScoringError`` like ``score``.
    """
    scored = scored or score(course, result, rules)
    return Breakdown(
        rows=tuple(_rows(course, result, scored)),
        sentences=tuple(_sentences(course, result, scored)),
        sides=tuple(_sides(course, scored)),
    )


def _runs(course: Course, result: Result, raw: int) -> list[tuple[int, str, int]]:
    """(line, where, reps) of every set done, the AMRAP's full rounds together."""
    mark = result.mark
    runs: list[tuple[int, str, int]] = []
    if isinstance(mark, Lifted):
        return [(0, "the lift", mark.reps)]
    if isinstance(mark, IntervalReps):
        width = len(course.lines)
        for number, left in enumerate(mark.reps):
            for course_set in course.sets[number * width : (number + 1) * width]:
                done = min(left, course_set.reps)
                left -= done
                if done:
                    runs.append((course_set.line.index, course.where(course_set), done))
        return runs
    place = course.place(raw)
    for course_set in course.sets[: place.index]:
        runs.append((course_set.line.index, course.where(course_set), course_set.reps))
    if course.tail and place.index >= len(course.sets):
        rounds, extra = divmod(place.index - len(course.sets), len(course.tail))
        where = course.where(course.tail[0]).removesuffix("round 1")
        if rounds:
            span = "round 1" if rounds == 1 else f"rounds 1 to {rounds}"
            runs += [(s.line.index, where + span, s.reps * rounds) for s in course.tail]
        runs += [(s.line.index, f"{where}round {rounds + 1}", s.reps) for s in course.tail[:extra]]
    if place.reps:
        course_set = course.set_at(place.index)
        runs.append((course_set.line.index, course.where(course_set), place.reps))
    return runs


def _rows(course: Course, result: Result, scored: Score) -> list[Row]:
    left: dict[int, list[tuple[Portion, int]]] = {}
    for portion in scored.portions:
        left.setdefault(portion.line, []).append((portion, portion.reps))
    unit = 10 if course.weighted else 1
    rows = []
    for line_index, where, reps in _runs(course, result, scored.raw_reps):
        course_line = course.lines[line_index]
        while reps:
            portion, remaining = left[line_index][0]
            take = min(reps, remaining)
            credited = portion.credit * take * Fraction(course_line.weight, unit)
            if isinstance(result.mark, Lifted):
                credited = scored.credited
            rows.append(
                Row(
                    line=course_line.number,
                    where=where,
                    movement=course_line.line.movement,
                    done_as=portion.label,
                    prescribed=portion.prescribed,
                    reps=take,
                    credit=figure(portion.credit, most=4),
                    credited=figure(credited, most=15),
                    source=portion.source,
                )
            )
            reps -= take
            if take == remaining:
                left[line_index].pop(0)
            else:
                left[line_index][0] = (portion, remaining - take)
    return rows


def _plural(count: int) -> str:
    return f"{count} rep" if count == 1 else f"{count} reps"


def _sentences(course: Course, result: Result, scored: Score) -> list[str]:
    mark = result.mark
    said: list[str] = []
    if isinstance(mark, Finished):
        said.append(f"The whole course, {_plural(scored.raw_reps)}, in {mark_text(course, mark)}.")
    elif isinstance(mark, Lifted):
        said.append(f"{figure(mark.amount)} {mark.unit} lifted for {_plural(mark.reps)}.")
    elif course.workout_block(1).kind is BlockKind.INTERVALS:
        said.append(f"{_plural(scored.raw_reps)} in all intervals together.")
    elif isinstance(mark, Caught):
        place = course.describe(course.place(mark.reps))
        said.append(
            f"The clock stopped at {clock_text(course.limit or 0)} after "
            f"{_plural(mark.reps)}: {place}."
        )
    unit = 10 if course.weighted else 1
    for portion in scored.portions:
        if portion.prescribed:
            continue
        movement = course.lines[portion.line].line.movement
        if isinstance(mark, Lifted):
            said.append(
                f"Done as {portion.label}, with a credit of {figure(portion.credit, most=4)}."
            )
            continue
        value = portion.credit * portion.reps
        said.append(
            f"{_plural(portion.reps)} of {movement} were done as {portion.label}: at a credit of "
            f"{figure(portion.credit, most=4)} ({portion.source}) they count "
            f"{figure(value, most=4)}."
        )
    if isinstance(mark, Lifted):
        said.append(f"That compares as {figure(scored.credited)} kg.")
        return said
    what = "reference seconds of reps" if course.weighted else "credited reps"
    if course.weighted:
        weights = ", ".join(
            f"{line.line.movement} {figure(Fraction(line.weight, unit))} s" for line in course.lines
        )
        said.append(f"Reps weigh their reference seconds in this class: {weights}.")
    said.append(
        f"{figure(scored.credited)} {what} in {clock_text(scored.seconds)} is "
        f"{figure(scored.pace_per_minute)} a minute."
    )
    if scored.as_prescribed:
        said.append("All of it as prescribed, so the mark stands as it is.")
    elif scored.adjusted.seconds is not None:
        said.append(f"At that pace as prescribed the course takes {scored.adjusted.text}.")
    elif scored.scheme == "intervals":
        said.append(f"As prescribed that is worth {scored.adjusted.text}.")
    else:
        said.append(f"The same pace as prescribed reaches {scored.adjusted.text}.")
    return said


def _sides(course: Course, scored: Score) -> list[tuple[str, int, int]]:
    sides = []
    for course_line in course.lines:
        reps = sum(p.reps for p in scored.portions if p.line == course_line.index)
        known = catalogue.find(course_line.line.movement)
        if known and known.is_two_sided and not course_line.line.alternating:
            continue  # a sit-up has no sides, even where rounds take turns
        split = course.sides(course_line.index, reps) if reps else None
        if split:
            sides.append((course_line.line.movement, *split))
    return sides
