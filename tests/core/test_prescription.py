"""Prescriptions: what can be made, and what is refused with a reason."""

from fractions import Fraction

import pytest

from scoring.core.prescription import (
    Block,
    BlockKind,
    Line,
    Load,
    Option,
    PrescriptionError,
    Unit,
    Workout,
    clock_text,
    decimal_text,
)

from .boards import LADDER_1, LADDER_2, TIDE, kg

BURPEES = Block(BlockKind.ROUNDS, (Line("burpee", 10),), rounds=3)
STRENGTH = Block(BlockKind.MAX_LOAD, (Line("back squat"),), reps=3)
MINUTES = Block(BlockKind.INTERVALS, (Line("burpee", 10),), rounds=10, seconds=60)


@pytest.mark.parametrize(
    ("make", "reason"),
    [
        (lambda: Load((Fraction(-1),)), "more than 0"),
        (lambda: Load((Fraction(1, 3),)), "three decimals"),
        (lambda: Load((Fraction(12), Fraction(20))), "heavier stands first"),
        (lambda: Load((Fraction(1),), "stone"), "kg or lb"),
        (lambda: Option("tuck rock", credit=Fraction(0)), "more than 0"),
        (lambda: Option("tuck rock", credit=Fraction(3)), "at most 2"),
        (lambda: Option("tuck rock", credit=Fraction(1, 3)), "four decimals"),
        (lambda: Option("tuck rock", kg(20, 12)), "one load"),
        (lambda: Option("Tuck  Rock"), "lower case"),
        (lambda: Line("row", 0), "from 1"),
        (lambda: Line("row", 10, alternating=True, per_side=True), "not both"),
        (lambda: Line("run", 400, Unit.METRES, units_per_rep=30), "evenly"),
        (lambda: Line("row", 10, units_per_rep=5), "distance or a hold"),
        (lambda: Line("row", options=(Option("a"), Option("a"))), "twice"),
        (lambda: Line("row", load=kg(8), options=(Option("row", kg(8)),)), "prescribed already"),
        (lambda: Block(BlockKind.REST), "length"),
        (lambda: Block(BlockKind.ROUNDS), "at least one"),
        (lambda: Block(BlockKind.LADDER, (Line("row"),)), "rungs"),
        (lambda: Block(BlockKind.LADDER, (Line("row", 5),), rungs=(3, 2)), "count comes from"),
        (lambda: Block(BlockKind.ROUNDS, (Line("row"),), rounds=2), "needs a count"),
        (lambda: Block(BlockKind.INTERVALS, (Line("row", 5),), rounds=2), "length"),
        (
            lambda: Block(BlockKind.INTERVALS, (Line("row"), Line("run", 5)), seconds=60),
            "Only the last",
        ),
        (lambda: Block(BlockKind.MAX_LOAD, (Line("back squat"),)), "max load, 3 reps"),
        (
            lambda: Block(BlockKind.LADDER, (Line("row"),), rungs=(3,), one_side_per_round=True),
            "rounds and AMRAPs",
        ),
        (lambda: Workout(" ", (BURPEES,), cap=600), "title"),
        (lambda: Workout("t", ()), "1 to 50 blocks"),
        (lambda: Workout("t", (BURPEES,)), "needs a cap"),
        (lambda: Workout("t", (BURPEES,), cap=7 * 3600), "6:00:00"),
        (lambda: Workout("t", (TIDE, BURPEES), cap=600), "last scored block"),
        (lambda: Workout("t", (BURPEES, STRENGTH), cap=600), "scores one thing"),
        (lambda: Workout("t", (MINUTES,), cap=300), "own clock"),
        (
            lambda: Workout("t", (Block(BlockKind.AMRAP, (Line("row", 5),), seconds=60),), cap=90),
            "differ",
        ),
        (
            lambda: Workout(
                "t", (BURPEES, Block(BlockKind.AMRAP, (Line("row", 5),), seconds=60)), cap=90
            ),
            "time left",
        ),
        (
            lambda: Workout(
                "t",
                (Block(BlockKind.ROUNDS, (Line("a", 1), Line("b", 1), Line("c", 1)), rounds=9999),),
                cap=60,
            ),
            "fewer rounds",
        ),
    ],
)
def test_what_cannot_be_run_is_refused_with_a_reason(make, reason):
    with pytest.raises(PrescriptionError, match=reason):
        make()


def test_the_clock_stops_at_the_cap_the_amrap_or_the_intervals_end():
    assert Workout("t", (LADDER_1, LADDER_2, TIDE), cap=1080).time_limit == 1080
    assert Workout("t", (Block(BlockKind.AMRAP, (Line("row", 5),), seconds=720),)).time_limit == 720
    assert Workout("t", (MINUTES,)).time_limit == 600
    assert Workout("t", (STRENGTH,)).time_limit is None


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(754, "12:34"), (59, "0:59"), (3600, "1:00:00"), (Fraction("833.68"), "13:53.7"),
     (Fraction("833.65"), "13:53.6"), (Fraction("59.96"), "1:00")],
)  # fmt: skip
def test_clock_text_rounds_tenths_half_to_even(seconds, text):
    # half to even: NIST SP 811 (2008) B.7.1
    assert clock_text(seconds) == text


def test_decimal_text_is_exact_or_refuses():
    assert decimal_text(Fraction(5, 2)) == "2.5"
    assert decimal_text(Fraction(-1, 4)) == "-0.25"
    assert decimal_text(Fraction(20)) == "20"
    with pytest.raises(ValueError, match="finite"):
        decimal_text(Fraction(1, 3))
