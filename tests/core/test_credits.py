"""Credits: where they come from and how options are written."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.course import Course
from scoring.core.credits import (
    Choice,
    ChoiceError,
    CreditTable,
    choices_text,
    credit_for,
    parse_choices,
    portions,
)
from scoring.core.prescription import Block, BlockKind, Line, Load, Option, Workout

from .boards import COURSE_L, kg

RINGS = Course(
    Workout(
        "t",
        (
            Block(
                BlockKind.ROUNDS,
                (
                    Line(
                        "pull-up",
                        10,
                        options=(Option("ring row", credit=Fraction(1, 2)), Option("band pull-up")),
                    ),
                    Line("thruster", 10, load=kg(20, 12), options=(Option("thruster", kg(8)),)),
                    Line("swing", 10, load=kg(16), options=(Option("deadlift"),)),
                ),
                rounds=3,
            ),
        ),
        cap=600,
    )
)


def credit(choice, table=None, **kwargs):
    return credit_for(RINGS.lines[choice.line], choice, table or CreditTable(), **kwargs)[0]


def test_the_board_comes_before_the_table_before_the_usual_figure():
    table = CreditTable(
        options={
            ("pull-up", "ring row"): Fraction("0.6"),
            ("pull-up", "band pull-up"): Fraction("0.7"),
        }
    )
    assert credit(Choice(0, 0), table) == Fraction("0.5")
    assert credit(Choice(0, 1), table) == Fraction("0.7")
    assert credit(Choice(0, 1)) == Fraction("0.8")


@pytest.mark.parametrize(
    ("load", "expected"),
    [
        (16, "1"),
        (12, "0.88"),
        (8, "0.75"),
        (4, "0.62"),
        ("0.5", "0.52"),
        (20, "1.12"),
        (64, "1.25"),
    ],
)
def test_the_load_rule_counts_half_of_what_is_missing(load, expected):
    # 12/16: 1 - 1/2 * 1/4 = 0.875, half to even 0.88; 4/16: 0.625 -> 0.62; worked by hand
    assert credit(Choice(2, None, kg(load)), above_one=True) == Fraction(expected)


def test_a_credit_above_one_counts_only_where_the_class_allows_it():
    heavy = Choice(2, None, kg(24))
    assert credit(heavy) == 1
    assert credit(heavy, above_one=True) == Fraction("1.25")


def test_either_of_two_prescribed_loads_is_as_prescribed():
    for load in (20, 12):
        assert credit(Choice(1, None, kg(load))) == 1
    assert credit(Choice(1, 0)) == Fraction("0.83")  # 8/12: 1 - 1/6


def test_pounds_compare_exactly_with_kilograms():
    # 1 lb = 0.45359237 kg exactly (24 FR 5348, 1959)
    pounds = Load((Fraction(20),), "lb")
    assert pounds.kilograms == (Fraction("9.0718474"),)
    assert credit(Choice(2, None, pounds)) == Fraction("0.78")  # 1 - (1 - 0.56699)/2


@pytest.mark.parametrize(
    ("pounds", "kilograms"),
    [(5, "2.3"), (10, "4.5"), (15, "6.8"), (25, "11.3"), (35, "15.9"), (45, "20.4"), (53, "24.0"),
     (70, "31.8"), (95, "43.1"), (135, "61.2"), (225, "102.1")],
)  # fmt: skip
def test_usual_plates_in_kilograms_to_a_tenth(pounds, kilograms):
    # arithmetic from the exact pound, rounded half to even (NIST SP 811 B.7.1)
    assert round(Load((Fraction(pounds),), "lb").kilograms[0], 1) == Fraction(kilograms)


def test_only_the_reps_done_otherwise_get_the_credit():
    counts = (18, 10, 0, 0, 0, 0, 0)
    choices = parse_choices(COURSE_L, "tuck rock: 4", counts)
    parts = portions(COURSE_L, counts, choices, CreditTable())
    assert [(p.label, p.reps, p.credit) for p in parts] == [
        ("goblet squat", 18, 1),
        ("hollow rock", 6, 1),
        ("tuck rock", 4, Fraction("0.75")),
    ]


@pytest.mark.parametrize(
    ("text", "problem", "hint"),
    [
        ("tuk rock", "not an option", "did you mean tuck rock"),
        ("pistol squat", "not an option", "tuck rock"),
        ("tuck rock: 11", "11 reps", "at most 10"),
        ("hollow rock @ 5 kg", "not an option", ""),
        ("tuck rock @ 5000 kg", "at most 1000", ""),
        ("x" * 3000, "too long", ""),
    ],
)
def test_unknown_options_get_a_suggestion(text, problem, hint):
    with pytest.raises(ChoiceError) as error:
        parse_choices(COURSE_L, text, (18, 10, 0, 0, 0, 0, 0)) and portions(
            COURSE_L,
            (18, 10, 0, 0, 0, 0, 0),
            parse_choices(COURSE_L, text, (18, 10, 0, 0, 0, 0, 0)),
            CreditTable(),
        )
    assert problem in error.value.problem
    assert hint.lower() in error.value.suggestion.lower()


def test_two_options_for_all_of_a_line_are_refused():
    both = (Choice(0, 0), Choice(0, 1))
    with pytest.raises(ChoiceError, match="can't both be all"):
        portions(RINGS, (10, 0, 0), both, CreditTable())


@st.composite
def some_choices(draw):
    chosen = []
    for line in RINGS.lines:
        if draw(st.booleans()):
            option = draw(st.sampled_from([None, *range(len(line.line.options))]))
            load = None
            if line.line.load and draw(st.booleans()):
                # a load no option lists, so that it reads back as the member's own
                load = kg(draw(st.integers(30, 90)))
            if option is None and load is None:
                continue
            chosen.append(Choice(line.index, option, load, draw(st.none() | st.integers(0, 9))))
    return tuple(c for c in chosen if not (c.line == 1 and c.option == 0 and c.load))


@given(some_choices())
def test_printed_choices_read_back(chosen):
    assert parse_choices(RINGS, choices_text(RINGS, chosen)) == chosen


@given(st.text(max_size=80))
def test_no_text_breaks_the_reader_of_options(text):
    try:
        parse_choices(RINGS, text, (10, 10, 10))
    except ChoiceError as error:
        assert error.problem


def test_a_table_survives_json():
    table = CreditTable(3, {("pull-up", "ring row"): Fraction("0.55")}, Fraction("0.9"))
    assert CreditTable.from_dict(table.to_dict()) == table


@pytest.mark.parametrize("text", ["knee pushups", "Knee Push Up", "2.2 knee-push-ups"])
def test_an_option_is_known_however_it_is_spelt(text):
    assert choices_text(COURSE_L, parse_choices(COURSE_L, text)) == "2.2 knee push-up"
