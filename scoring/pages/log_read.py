"""From what a log form sends to what the services take, and back.

The form works by taps, by numbers, and without JavaScript; here its fields become the
one text of a mark. Field names: ``place`` (``block.round.position``, the round ``n`` where
it is counted in ``rounds-<block>``, or ``finish``), ``reps``, ``time``, ``interval-<n>``,
``load``, ``load-unit``, ``load-reps``, ``mark`` (written, and then it counts alone);
``opt-<line>``, ``own-<line>``, ``part-<line>``, ``unbroken-<line>``, ``options``;
``split-<block>``, ``note``, ``effort``; ``hurts-<n>`` of core/body.py, ``hurts-words``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from scoring.core.body import AREAS
from scoring.core.course import Course, CourseBlock, CourseLine, PlaceError
from scoring.core.credits import Choice, choices_text
from scoring.core.fitting import Fit
from scoring.core.marks import Caught, Finished, IntervalReps, Lifted, mark_text
from scoring.core.prescription import BlockKind, clock_text, decimal_text
from scoring.core.scoring import Result
from scoring.mapping import core_result, read_unbroken
from scoring.models import Fact, Pain
from scoring.problems import Item, Refused, refuse
from scoring.services.submitting import ChoiceInput, PainInput, ResultInput

Typed = Mapping[str, str]

COUNTED_FROM = 5
"""From so many rounds on, a block's rounds are counted and not drawn one by one."""


def is_counted(course: Course, block: int) -> bool:
    """Whether the form asks for a block's full rounds by number."""
    kind = course.workout_block(block)
    return kind.kind is BlockKind.AMRAP or (
        kind.kind is BlockKind.ROUNDS and kind.rounds >= COUNTED_FROM
    )


def read_form(course: Course, typed: Typed) -> ResultInput:
    """What the form reports.

    Raises ``Refused`` with every field that can't be read.
    """
    items: list[Item] = []
    mark = ""
    choices: tuple[ChoiceInput, ...] = ()
    effort: int | None = None
    try:
        mark = read_mark(course, typed)
    except Refused as refusal:
        items += refusal.items
    try:
        choices = _choices(course, typed)
    except Refused as refusal:
        items += refusal.items
    unbroken: dict[str, int] = {}
    try:
        unbroken = _unbroken(course, typed)
    except Refused as refusal:
        items += refusal.items
    try:
        effort = _whole(typed, "effort", "effort", "Effort")
    except Refused as refusal:
        items += refusal.items
    if items:
        raise Refused(*items)
    return ResultInput(
        mark=mark,
        choices=choices,
        options=typed.get("options", "").strip(),
        splits={
            str(block.number): typed.get(f"split-{block.number}", "").strip()
            for block in course.blocks
        },
        note=typed.get("note", "").strip(),
        effort=effort,
        unbroken=unbroken,
    )


def _unbroken(course: Course, typed: Typed) -> dict[str, int]:
    found = {}
    for line in course.lines:
        called = f"Longest unbroken set of {line.line.movement}"
        reps = _whole(typed, f"unbroken-{line.index}", "options", called)
        if reps:
            found[line.number] = reps
    return found


def _whole(typed: Typed, name: str, column: str, called: str) -> int | None:
    """A whole number, ``None`` where nothing is written."""
    text = typed.get(name, "").strip()
    if not text:
        return None
    if not (text.isascii() and text.isdigit() and len(text) <= 7):
        raise refuse(column, f"{called}: {text[:20]!r} is not a number.", "Write digits only.")
    return int(text)


def read_mark(course: Course, typed: Typed) -> str:
    """The mark as text; empty if nothing was given."""
    written = typed.get("mark", "").strip()
    if written or not course.blocks:
        return written
    kind = course.workout_block(1).kind
    if kind is BlockKind.MAX_LOAD:
        return _lift(course, typed)
    if kind is BlockKind.INTERVALS:
        return _intervals(course, typed)
    time, place = typed.get("time", "").strip(), typed.get("place", "")
    if place == "finish" or (time and not place):
        if not time:
            raise refuse("mark", "You finished, but no time is written.", "Write it like 12:34.")
        return time
    if time:
        raise refuse(
            "mark", "There is a time and also a set where the clock caught you.",
            "Clear the time, or choose that you finished.",
        )  # fmt: skip
    return _caught(course, typed, place)


def _lift(course: Course, typed: Typed) -> str:
    load = typed.get("load", "").strip()
    if not load:
        return ""
    reps = _whole(typed, "load-reps", "mark", "Reps") or course.blocks[0].block.reps
    return f"{load} {typed.get('load-unit', 'kg')} x {reps}"


def _intervals(course: Course, typed: Typed) -> str:
    reps = [
        _whole(typed, f"interval-{n}", "mark", f"Interval {n}")
        for n in range(1, course.blocks[0].block.rounds + 1)
    ]
    while reps and reps[-1] is None:
        reps.pop()
    return " / ".join(str(done or 0) for done in reps)


def _rounds_and_reps(course: Course, typed: Typed, reps: int) -> str:
    """The mark of full rounds with reps into the next, no set chosen; empty without rounds."""
    for block in course.blocks:
        if not is_counted(course, block.number):
            continue
        rounds = _whole(typed, f"rounds-{block.number}", "mark", "Rounds")
        if rounds is None:
            continue
        is_last = block.block.kind is BlockKind.AMRAP
        size = course.round_reps if is_last else _round_size(course, block)
        if reps >= size or (not is_last and rounds >= block.block.rounds):
            raise refuse(
                "mark",
                f"A round has {size} reps, so {rounds} rounds + {reps} cannot be right.",
                f"Give full rounds, and 0 to {size - 1} reps of the next.",
            )
        return mark_text(course, Caught(block.start + rounds * size + reps))
    return ""


def _round_size(course: Course, block: CourseBlock) -> int:
    first = course.sets[block.first_set : block.first_set + len(block.block.lines)]
    return sum(s.reps for s in first)


def _caught(course: Course, typed: Typed, place: str) -> str:
    reps = _whole(typed, "reps", "mark", "Reps")
    if not place:
        mark = _rounds_and_reps(course, typed, reps or 0)
        if reps and not mark:
            raise refuse("mark", "Reps are given, but not in which set.", "Choose the set.")
        return mark
    block, round_text, position = [*place.split("."), "", ""][:3]
    if not (block.isdigit() and position.isdigit()):
        raise refuse("mark", "That set is not on the course.", "Choose one of the sets.")
    rounds = (
        (_whole(typed, f"rounds-{block}", "mark", "Rounds") or 0) + 1
        if round_text == "n"
        else int(round_text)
        if round_text.isdigit()
        else 0
    )
    try:
        there = course.place_at(
            block=int(block), round=rounds, position=int(position), reps=reps or 0
        )
        raw = course.raw(there)
    except PlaceError as error:
        raise refuse("mark", str(error), "Choose the set, then the reps done in it.") from None
    if raw == course.total:
        return f"{raw} reps"
    return mark_text(course, Caught(raw))


def _choices(course: Course, typed: Typed) -> tuple[ChoiceInput, ...]:
    found, items = [], []
    for line in course.lines:
        try:
            label = _label(line, typed)
            reps = _whole(typed, f"part-{line.index}", "options", f"Reps of {line.line.movement}")
        except Refused as refusal:
            items += refusal.items
            continue
        if label:
            found.append(ChoiceInput(line.number, label, reps))
    if items:
        raise Refused(*items)
    return tuple(found)


def _label(line: CourseLine, typed: Typed) -> str:
    """The label of what was done in place of a line; empty for as prescribed."""
    if typed.get(f"ask-{line.index}") and f"opt-{line.index}" not in typed:
        raise refuse(
            "options", f"How did you do {line.line.movement}? Your gear does not fit it.",
            "Choose one of those shown, or as prescribed if you did.",
        )  # fmt: skip
    picked = typed.get(f"opt-{line.index}", "")
    own = typed.get(f"own-{line.index}", "").strip()
    movement = line.line.movement
    if picked == "own" and not own:
        raise refuse("options", f"Which load did you use for {movement}?", "Write it in kg.")
    if picked in ("", "own"):
        return f"{movement} @ {_with_unit(line, own)}" if own else ""
    if not picked.isdigit() or int(picked) >= len(line.line.options):
        raise refuse("options", f"{movement} has no such option.", "Choose one of those shown.")
    option = line.line.options[int(picked)]
    return f"{option.movement} @ {_with_unit(line, own)}" if own else option.label


def load_unit(line: CourseLine) -> str:
    """The unit in which a line's loads are written."""
    return line.line.load.unit if line.line.load else "kg"


def _with_unit(line: CourseLine, own: str) -> str:
    has_unit = own.lower().endswith(("kg", "lb", "kgs", "lbs"))
    return own if has_unit else f"{own} {load_unit(line)}"


def typed_of(course: Course, fact: Fact) -> dict[str, str]:
    """A stored fact as the form would have sent it, for a form that is filled in."""
    result = core_result(course, fact)
    typed = {"note": fact.note, "effort": "" if fact.effort is None else str(fact.effort)}
    typed |= _typed_mark(course, result) | _typed_choices(course, result.choices)
    lines = {line.number: line.index for line in course.lines}
    for number, reps in read_unbroken(fact.unbroken).items():
        typed[f"unbroken-{lines[number]}"] = str(reps)
    for block, seconds in result.splits.items():
        typed[f"split-{block}"] = mark_text(course, Finished(seconds))
    return typed


def read_hurts(typed: Typed) -> PainInput:
    """What hurts: a ticked field for each area of the body, and words."""
    areas = tuple(area for n, area in enumerate(AREAS) if typed.get(f"hurts-{n}"))
    return PainInput(areas, typed.get("hurts-words", "").strip())


def typed_of_pain(pain: Pain | None) -> dict[str, str]:
    """What was told before, as the form would have sent it."""
    if pain is None:
        return {}
    ticked = {f"hurts-{n}": "on" for n, area in enumerate(AREAS) if area in pain.areas}
    return ticked | {"hurts-words": pain.words}


def typed_of_version(course: Course, fits: Iterable[Fit]) -> dict[str, str]:
    """A member's own version of a class as the form would have sent it: no mark yet."""
    listed = list(fits)
    choices = tuple(f.choice for f in listed if f.choice is not None and not f.is_as_written)
    asked = {f"ask-{f.line}": "1" for f in listed if f.choice is None}
    return _typed_choices(course, choices) | asked


def _typed_mark(course: Course, result: Result) -> dict[str, str]:
    mark = result.mark
    if isinstance(mark, Finished):
        return {"place": "finish", "time": mark_text(course, mark)}
    if isinstance(mark, Lifted):
        amount = decimal_text(mark.amount)
        return {"load": amount, "load-unit": mark.unit, "load-reps": str(mark.reps)}
    if isinstance(mark, IntervalReps):
        return {f"interval-{n}": str(reps) for n, reps in enumerate(mark.reps, start=1)}
    if course.workout_block(1).kind is BlockKind.INTERVALS:
        return {"mark": mark_text(course, mark)}
    place = course.place(mark.reps)
    there = course.set_at(place.index)
    position, block = there.line.position, there.block
    if is_counted(course, block):
        return {
            "place": f"{block}.n.{position}",
            f"rounds-{block}": str(there.round - 1),
            "reps": str(place.reps),
        }
    return {"place": f"{block}.{there.round}.{position}", "reps": str(place.reps)}


def _typed_choices(course: Course, choices: tuple[Choice, ...]) -> dict[str, str]:
    """Chips where each line has one choice, else all of them as text."""
    if len({choice.line for choice in choices}) < len(choices):
        return {"options": choices_text(course, choices)}
    typed: dict[str, str] = {}
    for choice in choices:
        line = course.lines[choice.line]
        if choice.option is not None:
            typed[f"opt-{line.index}"] = str(choice.option)
        if choice.load is not None:
            typed.setdefault(f"opt-{line.index}", "own")
            same = choice.load.unit == load_unit(line)
            own = decimal_text(choice.load.amounts[0])
            typed[f"own-{line.index}"] = own if same else str(choice.load)
        if choice.reps is not None:
            typed[f"part-{line.index}"] = str(choice.reps)
    return typed


def minutes(seconds: int | None) -> str:
    """A cap as the form writes it."""
    return clock_text(seconds) if seconds else ""
