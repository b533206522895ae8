"""A workout as its canonical board text."""

from __future__ import annotations

from .prescription import Block, BlockKind, Line, Option, Unit, Workout, clock_text, decimal_text

_UNITS = {Unit.REPS: "", Unit.CALORIES: "cal ", Unit.METRES: "m ", Unit.SECONDS: "s "}


def to_text(workout: Workout) -> str:
    """The one canonical text; ``parse`` reads it back to the same workout."""
    head = [workout.title]
    if workout.cap is not None:
        head.append(f"cap {clock_text(workout.cap)}")
    blocks = ["\n".join(head)] + [block_text(block) for block in workout.blocks]
    return "\n\n".join(blocks) + "\n"


def _header(block: Block) -> str:
    kind = block.kind
    if kind is BlockKind.LADDER:
        text = "-".join(map(str, block.rungs))
    elif kind is BlockKind.ROUNDS:
        plural = "" if block.rounds == 1 else "s"
        text = "for time" if block.for_time else f"{block.rounds} round{plural}"
    elif kind is BlockKind.AMRAP:
        text = f"amrap {clock_text(block.seconds)}" if block.seconds else "amrap in the time left"
    elif kind is BlockKind.INTERVALS:
        plural = "" if block.rounds == 1 else "s"
        text = f"every {clock_text(block.seconds or 0)} for {block.rounds} round{plural}"
    elif kind is BlockKind.REST:
        text = f"rest {clock_text(block.seconds or 0)}"
    else:
        text = f"max load, {block.reps} rep{'' if block.reps == 1 else 's'}"
    if block.one_side_per_round:
        text += ", one side per round"
    return text if block.scored else f"{text}, not scored"


def block_text(block: Block) -> str:
    """One block as it stands in the canonical text, without a newline at its end."""
    rows = [_header(block)]
    for line in block.lines:
        rows.append(_line(line, block.kind))
        rows += [f"  {_option(option, line)}" for option in line.options]
    return "\n".join(rows)


def _line(line: Line, kind: BlockKind) -> str:
    unit = _UNITS[line.unit]
    if line.count is None:
        # A ladder has its counts in the scheme, a strength piece in its header.
        text = f"max {unit}" if kind is BlockKind.INTERVALS else unit
    elif line.unit is Unit.SECONDS:
        text = f"{clock_text(line.count)} "
    else:
        text = f"{line.count} {unit}"
    text += line.movement
    if line.load:
        text += f" @ {line.load}"
    if line.alternating:
        text += ", alternating"
    if line.per_side:
        text += ", per side"
    if line.units_per_rep:
        is_time = line.unit is Unit.SECONDS
        size = clock_text(line.units_per_rep) if is_time else f"{line.units_per_rep} m"
        text += f", {size} a rep"
    return text


def _option(option: Option, line: Line) -> str:
    parts = ["or"]
    if option.movement != line.movement or option.load is None:
        parts.append(option.movement)
    if option.load:
        parts.append(f"@ {option.load}")
    text = " ".join(parts)
    return text if option.credit is None else f"{text}, credit {decimal_text(option.credit)}"
