"""The board's text: read as coaches write it, printed in one form, faults told by line."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.notation import NotationError, parse, to_text
from scoring.core.prescription import Block, BlockKind, Line, Load, Option, Unit, Workout

from .boards import LADDER_1, LADDER_2, TIDE, kg
from .strategies import workouts

TWO_LADDERS = """Two ladders and a tide
cap 18:00

18-12-6
goblet squat @ 20 kg
hollow rock
  or tuck rock, credit 0.75

14-10-6
single-arm row @ 16 kg, alternating
hand-release push-up
  or knee push-up, credit 0.7

amrap in the time left, one side per round
4 push press @ 16 kg
8 reverse lunge
12 sit-up
"""


def test_the_example_is_read_exactly_and_printed_as_written():
    parsed = parse(TWO_LADDERS)
    expected = Workout("Two ladders and a tide", (LADDER_1, LADDER_2, TIDE), cap=1080)
    assert parsed.workout == expected and parsed.notes == ()
    assert to_text(expected) == TWO_LADDERS


@pytest.mark.parametrize(
    "change",
    [
        str.upper,
        lambda t: t.replace("\n", "\r\n"),
        lambda t: "\ufeff" + t,
        lambda t: t.replace(" ", "\u00a0"),
        lambda t: t.replace("  or", "\tor"),
        lambda t: t.replace("-12-", "–12–").replace("-10-", " - 10 - "),
        lambda t: t.replace("20 kg", "20kg").replace("@ 16", "@16"),
        lambda t: t.replace("cap 18:00", "cap: 18 min"),
        lambda t: t.replace("goblet squat", "goblet squats").replace("sit-up", "situps"),
        lambda t: t.replace("4 push press", "4x push press").replace("8 rev", "8 x rev"),
        lambda t: t.replace("0.75", "75%").replace(", credit 0.7\n", " credit .7\n"),
        lambda t: t.replace("\n\n", "\n \n\n"),
        lambda t: "# for Tuesday\n" + t + "\n# end\n",
    ],
)
def test_usual_ways_of_writing_it_mean_the_same(change):
    changed, plain = parse(change(TWO_LADDERS)).workout, parse(TWO_LADDERS).workout
    assert (changed.blocks, changed.cap) == (plain.blocks, plain.cap)


def first_line(text, head="5 rounds"):
    return parse(f"t\ncap 10\n\n{head}\n{text}").workout.blocks[0].lines[0]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("10 cal row", Line("row", 10, Unit.CALORIES)),
        ("10 calorie row", Line("row", 10, Unit.CALORIES)),
        ("400 m run", Line("run", 400, Unit.METRES)),
        ("400m run, 40 m a rep", Line("run", 400, Unit.METRES, units_per_rep=40)),
        ("0:20 plank", Line("plank", 20, Unit.SECONDS)),
        ("hold 0:20 plank", Line("plank", 20, Unit.SECONDS)),
        ("0:30 plank, 0:10 a rep", Line("plank", 30, Unit.SECONDS, units_per_rep=10)),
        ("10 lunge per side", Line("lunge", 10, per_side=True)),
        ("10 lunges, each side", Line("lunge", 10, per_side=True)),
        ("12 reverse lunge alternating", Line("reverse lunge", 12, alternating=True)),
        ("10 thruster @ 20/12 kg", Line("thruster", 10, load=kg(20, 12))),
        ("10 thruster @ 44 lb", Line("thruster", 10, load=Load((Fraction(44),), "lb"))),
        ("10 thruster @ 12,5 kg", Line("thruster", 10, load=kg("12.5"))),
        ("3 sofa shuffle", Line("sofa shuffle", 3)),
    ],
)
def test_movement_lines(text, line):
    assert first_line(text) == line


@pytest.mark.parametrize(
    ("text", "option"),
    [
        ("or @ 8 kg", Option("thruster", kg(8))),
        ("or @ 8 kg, credit 0.6", Option("thruster", kg(8), Fraction("0.6"))),
        ("or air squat", Option("air squat")),
        ("OR Air Squats CREDIT 0.5", Option("air squat", None, Fraction(1, 2))),
        ("or goblet squat @ 8 kg, credit 50%", Option("goblet squat", kg(8), Fraction(1, 2))),
    ],
)
def test_options(text, option):
    assert first_line(f"10 thruster @ 20 kg\n  {text}").options == (option,)


@pytest.mark.parametrize(
    ("header", "kwargs"),
    [
        ("5 rounds", {"kind": BlockKind.ROUNDS, "rounds": 5}),
        ("for time", {"kind": BlockKind.ROUNDS, "for_time": True}),
        ("amrap in the time left", {"kind": BlockKind.AMRAP}),
        ("3 rounds, not scored", {"kind": BlockKind.ROUNDS, "rounds": 3, "scored": False}),
        ("4 rounds, one side per round",
         {"kind": BlockKind.ROUNDS, "rounds": 4, "one_side_per_round": True}),
    ],
)  # fmt: skip
def test_headers(header, kwargs):
    block = parse(f"t\ncap 10\n\n{header}\n10 burpee").workout.blocks[0]
    assert block == Block(lines=(Line("burpee", 10),), **kwargs)


def test_timed_blocks():
    assert parse("t\n\namrap 12:00\n5 burpee").workout.time_limit == 720
    assert parse("t\n\n12 min amrap\n5 burpee").workout.time_limit == 720
    every = parse("t\n\nevery 1:00 for 10 rounds\n12 swings\nmax burpee").workout.blocks[0]
    assert (every.seconds, every.rounds, every.lines[1].count) == (60, 10, None)
    rest = parse("t\ncap 20\n\n2 rounds\n5 burpee\n\nrest 2:00\n\n21\nburpee").workout.blocks[1]
    assert rest == Block(BlockKind.REST, seconds=120)
    lift = parse("t\n\nmax load, 3 reps\nback squat").workout.blocks[0]
    assert lift == Block(BlockKind.MAX_LOAD, (Line("back squat"),), reps=3)


def test_unknown_movements_are_accepted_with_a_note():
    parsed = parse("t\ncap 10\n\n5 rounds\n10 golbet squat\n3 sofa shuffle")
    first, second = parsed.notes
    assert (first.line, first.suggestion) == (5, "Did you mean goblet squat?")
    assert second.line == 6 and "your own movement" in second.suggestion


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("", [(1, "no workout")]),
        ("Just a title", [(1, "title and no workout")]),
        ("t\ncap soon\n\n5 rounds\n10 burpee", [(2, "not a cap")]),
        ("t\ncap 10:99\n\n5 rounds\n10 burpee", [(2, "not a time")]),
        ("t\ncap 10\ncap 12\n\n5 rounds\n10 burpee", [(3, "two caps")]),
        ("t\n\n5 rounds\n10 burpee", [(1, "needs a cap")]),
        ("t\ncap 10\n\n5 rouns\n10 burpee", [(4, "not the start of a block")]),
        ("t\ncap 10\n\n5 rounds\nburpee", [(5, "needs a count")]),
        ("t\ncap 10\n\n5 rounds\n10", [(5, "not a movement line|load can.t be read|start of a block")]),
        ("t\ncap 10\n\n5 rounds", [(4, "at least one movement")]),
        ("t\ncap 10\n\n21-15\n10 burpee", [(5, "count comes from the scheme")]),
        ("t\ncap 10\n\n5 rounds\n10 burpee @ heavy", [(5, "not a movement line|load can.t be read|start of a block")]),
        ("t\ncap 10\n\n5 rounds\n10 thruster @ 12/20 kg", [(5, "heavier stands first")]),
        ("t\ncap 10\n\n5 rounds\n10 thruster @ 5000 kg", [(5, "at most 1000")]),
        ("t\ncap 10\n\n5 rounds\nor knee push-up", [(5, "no movement above")]),
        ("t\ncap 10\n\n5 rounds\n5 burpee\nor", [(6, "not an option|names a movement")]),
        ("t\ncap 10\n\n5 rounds\n5 burpee\n or sprawl, credit 3", [(6, "at most 2")]),
        ("t\ncap 10\n\n5 rounds\n5 burpee\n or sprawl, credit half", [(6, "not an option|stand")]),
        ("t\ncap 10\n\n5 rounds\n5 burpee\n or burpee", [(6, "prescribed already")]),
        ("t\ncap 10\n\n5 rounds\nmax burpee", [(5, "Only an interval")]),
        ("t\n\nevery 1:00 for 3 rounds\nmax burpee\n5 row", [(4, "Only the last")]),
        ("t\n\nevery 1:00 for 3 rounds\nburpee", [(4, "needs a count")]),
        ("t\ncap 10\n\n5 rounds\n400 m run, 30 m a rep", [(5, "evenly")]),
        ("t\ncap 10\n\n5 rounds\n400 m run, 0:30 a rep", [(5, "another unit")]),
        ("t\ncap 10\n\n5 rounds\n5 lunge, alternating, per side", [(5, "not both")]),
        ("t\ncap 10\n\namrap in the time left\n5 row\n\n5 rounds\n5 burpee", [(4, "last scored")]),
        ("t\ncap 90:00\n\namrap 12:00\n5 burpee", [(4, "differ")]),
        ("t\ncap 10\n\n99999 rounds\n5 burpee", [(4, "from 1 to")]),
        ("t\ncap 10\n\n5 rouns\n5 burpee @ x\n\n21\n10 row",
         [(4, "start of a block"), (5, "not a movement line|load can.t be read|start of a block"), (8, "count comes from")]),
        ("t\n" + "x" * 300, [(2, "too long")]),
        ("t\n" * 600, [(500, "too many lines")]),
        ("x" * 30_000, [(1, "too long for a board")]),
    ],
)  # fmt: skip
def test_faults_name_their_line_and_say_what_would_be_right(text, faults):
    import re

    with pytest.raises(NotationError) as error:
        parse(text)
    told = [(p.line, p.problem) for p in error.value.problems]
    assert [line for line, _ in told] == [line for line, _ in faults]
    for (_, problem), (_, part) in zip(told, faults, strict=True):
        assert re.search(part, problem)
    assert all(p.suggestion for p in error.value.problems)


@given(workouts())
def test_what_is_printed_reads_back_to_the_same_workout(workout):
    text = to_text(workout)
    assert parse(text).workout == workout
    assert to_text(parse(text).workout) == text


WORDS = st.sampled_from(
    [
        "t",
        "cap",
        "18:00",
        "18-12-6",
        "5",
        "rounds",
        "for",
        "time",
        "amrap",
        "in",
        "the",
        "time",
        "left",
        "every",
        "1:00",
        "rest",
        "max",
        "load",
        "or",
        "@",
        "20",
        "kg",
        ",",
        "credit",
        "0.5",
        "\n",
        "\n\n",
        "burpee",
        "push-up",
        "alternating",
        "per",
        "side",
        "m",
        "cal",
        "not",
        "scored",
        "%",
        "/",
        ":",
        "#",
    ]
)


@given(st.one_of(st.text(max_size=200), st.lists(WORDS, max_size=40).map(" ".join)))
def test_no_text_is_ever_more_than_a_notation_error(text):
    try:
        workout = parse(text).workout
    except NotationError as error:
        assert error.problems
    else:
        assert parse(to_text(workout)).workout == workout


@pytest.mark.parametrize(
    ("header", "right"),
    [
        ("21 15 9", "Write 21-15-9."),
        ("12/9/6", "Write 12-9-6."),
        ("21, 15, 9", "Write 21-15-9."),
        ("amrap in the tiem left", "Did you mean amrap in the time left?"),
    ],
)
def test_a_slip_in_a_blocks_first_line_is_put_right(header, right):
    with pytest.raises(NotationError) as error:
        parse(f"X\ncap 10:00\n\n{header}\nsit-up\n")
    assert error.value.problems[0].suggestion.startswith(right)


def test_a_slip_in_the_word_credit_is_quoted():
    with pytest.raises(NotationError) as error:
        parse("X\ncap 10:00\n\n21-15-9\nhollow rock\n  or tuck rock, credti 0.75\n")
    [problem] = error.value.problems
    assert "'credti'" in problem.problem and problem.suggestion == "Did you mean credit 0.75?"


@pytest.mark.parametrize(
    ("text", "suggestion"),
    [
        (
            "t\ncap 20:00\n\namrap 12:00\n5 burpee\n\nrest 2:00\n\namrap 6:00\n5 push-up",
            "Make it the last block, or write a number of rounds: 5 rounds.",
        ),
        ("t\n\n5 rounds\n5 burpee", "Write it under the title."),
    ],
)
def test_what_is_suggested_is_about_what_is_wrong(text, suggestion):
    with pytest.raises(NotationError) as error:
        parse(text)
    [problem] = error.value.problems
    assert problem.suggestion == suggestion and "title;" not in problem.suggestion
