"""Hypothesis strategies for valid workouts."""

from fractions import Fraction

from hypothesis import strategies as st

from scoring.core import catalogue
from scoring.core.prescription import (
    Block,
    BlockKind,
    Line,
    Load,
    Option,
    PrescriptionError,
    Unit,
    Workout,
)

movements = st.sampled_from([m.name for m in catalogue.all_movements()])
invented = st.sampled_from(["sofa shuffle", "1-arm basket heave", "garden wall vault"])
names = st.one_of(movements, movements, invented)
amounts = st.integers(1, 2_000).map(lambda n: Fraction(n, 4))
units = st.sampled_from(["kg", "lb"])
single_loads = st.builds(lambda a, u: Load((a,), u), amounts, units)
double_loads = st.builds(
    lambda a, b, u: Load((a + b, b), u), st.integers(1, 40).map(Fraction), amounts, units
)
credits = st.none() | st.integers(1, 20_000).map(lambda n: Fraction(n, 10_000))


def valid(make):
    """Only what the prescription accepts; the rest is tried again."""

    @st.composite
    def strategy(draw, *args):
        for _ in range(20):
            try:
                return make(draw, *args)
            except PrescriptionError:
                continue
        raise AssertionError(f"{make.__name__} makes hardly anything valid")

    return strategy


@valid
def options(draw):
    return Option(draw(names), draw(st.none() | single_loads), draw(credits))


@valid
def lines(draw, kind, is_last=False):
    unit = draw(st.sampled_from(Unit)) if kind is not BlockKind.LADDER else Unit.REPS
    count = draw(st.integers(1, 500))
    units_per_rep = None
    if kind is BlockKind.LADDER or (
        kind is BlockKind.INTERVALS and is_last and draw(st.booleans())
    ):
        count, unit = None, Unit.REPS
    elif unit in (Unit.METRES, Unit.SECONDS) and draw(st.booleans()):
        units_per_rep = draw(st.integers(1, 30))
        count = units_per_rep * draw(st.integers(1, 30))
    sides = draw(st.sampled_from(["", "", "alternating", "per_side"]))
    return Line(
        draw(names),
        count,
        unit,
        draw(st.none() | single_loads | double_loads),
        sides == "alternating",
        sides == "per_side",
        units_per_rep,
        tuple(draw(st.lists(options(), max_size=2))),
    )


@st.composite
def blocks(draw, kind, scored=True):
    if kind is BlockKind.REST:
        return Block(kind, seconds=draw(st.integers(1, 3600)), scored=scored)
    if kind is BlockKind.MAX_LOAD:
        return Block(kind, (Line(draw(names)),), reps=draw(st.integers(1, 10)), scored=scored)
    count = draw(st.integers(1, 3))
    inner = tuple(draw(lines(kind, i == count - 1)) for i in range(count))
    extra = {}
    if kind is BlockKind.LADDER:
        extra["rungs"] = tuple(draw(st.lists(st.integers(1, 100), min_size=1, max_size=6)))
    if kind is BlockKind.ROUNDS:
        extra["rounds"] = draw(st.integers(1, 12))
        extra["for_time"] = extra["rounds"] == 1 and draw(st.booleans())
    if kind is BlockKind.INTERVALS:
        extra.update(rounds=draw(st.integers(1, 20)), seconds=draw(st.integers(10, 300)))
    if kind in (BlockKind.ROUNDS, BlockKind.AMRAP):
        extra["one_side_per_round"] = draw(st.booleans())
    return Block(kind, inner, scored=scored, **extra)


@st.composite
def workouts(draw):
    title = draw(st.sampled_from(["Two ladders", "A tide, twice", "Tuesday 24", "Ärmel hoch"]))
    finite = st.sampled_from([BlockKind.LADDER, BlockKind.ROUNDS])
    shape = draw(st.sampled_from(["finite", "into", "amrap", "intervals", "load", "none"]))
    kinds: list[BlockKind] = []
    cap = None
    if shape in ("finite", "into"):
        kinds = draw(st.lists(finite, min_size=1, max_size=3))
        cap = draw(st.integers(60, 7200))
    if shape in ("into", "amrap"):
        kinds.append(BlockKind.AMRAP)
        cap = draw(st.integers(60, 7200))
    if shape == "intervals":
        kinds = [BlockKind.INTERVALS]
    if shape == "load":
        kinds = [BlockKind.MAX_LOAD]
    made = [draw(blocks(kind)) for kind in kinds]
    unscored = st.sampled_from([BlockKind.ROUNDS, BlockKind.LADDER, BlockKind.REST])
    if shape == "none" or draw(st.booleans()):
        made.insert(0, draw(blocks(draw(unscored), scored=False)))
    if len(kinds) > 1 and draw(st.booleans()):
        made.insert(-1, draw(blocks(BlockKind.REST)))
    return Workout(title, tuple(made), cap)
