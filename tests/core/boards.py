"""Courses that the core's tests share, built by hand (not through the notation)."""

from fractions import Fraction

from scoring.core.course import Course
from scoring.core.prescription import Block, BlockKind, Line, Load, Option, Unit, Workout


def kg(*amounts: object) -> Load:
    return Load(tuple(Fraction(str(a)) for a in amounts))


LADDER_1 = Block(
    BlockKind.LADDER,
    (
        Line("goblet squat", load=kg(20)),
        Line("hollow rock", options=(Option("tuck rock", credit=Fraction("0.75")),)),
    ),
    rungs=(18, 12, 6),
)
LADDER_2 = Block(
    BlockKind.LADDER,
    (
        Line("single-arm row", load=kg(16), alternating=True),
        Line("hand-release push-up", options=(Option("knee push-up", credit=Fraction("0.7")),)),
    ),
    rungs=(14, 10, 6),
)
TIDE = Block(
    BlockKind.AMRAP,
    (Line("push press", 4, load=kg(16)), Line("reverse lunge", 8), Line("sit-up", 12)),
    one_side_per_round=True,
)
COURSE_L = Course(Workout("Two ladders and a tide", (LADDER_1, LADDER_2, TIDE), cap=18 * 60))
COURSE_M = Course(Workout("Two ladders", (LADDER_1, LADDER_2), cap=14 * 60))
COURSE_ROUNDS = Course(
    Workout(
        "Five rounds",
        (Block(BlockKind.ROUNDS, (Line("burpee", 10), Line("run", 400, Unit.METRES)), rounds=5),),
        cap=20 * 60,
    )
)
COURSE_AMRAP = Course(
    Workout(
        "Twelve minutes",
        (Block(BlockKind.AMRAP, (Line("air squat", 10), Line("push-up", 5)), seconds=720),),
    )
)
COURSE_INTERVALS = Course(
    Workout(
        "Minutes",
        (
            Block(
                BlockKind.INTERVALS,
                (
                    Line(
                        "kettlebell swing", 12, options=(Option("deadlift", credit=Fraction(1, 2)),)
                    ),
                    Line("burpee"),
                ),
                rounds=3,
                seconds=60,
            ),
        ),
    )
)
COURSE_LOAD = Course(
    Workout("Heavy three", (Block(BlockKind.MAX_LOAD, (Line("back squat"),), reps=3),))
)
COURSES = {
    "L": COURSE_L,
    "M": COURSE_M,
    "rounds": COURSE_ROUNDS,
    "amrap": COURSE_AMRAP,
    "intervals": COURSE_INTERVALS,
    "load": COURSE_LOAD,
}
