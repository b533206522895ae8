"""Changes of a table: what they make of it, what they touch, and what undoes them."""

from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scoring.core.course import Course
from scoring.core.credit_changes import (
    Entry,
    Step,
    changed,
    entry_of,
    moves,
    says_the_same,
    set_back,
    steps,
    touched_options,
    touches,
)
from scoring.core.credit_use import credit_in, labels_used
from scoring.core.credits import Choice, CreditTable, choice_label, choices_text, credit_for
from scoring.core.prescription import Block, BlockKind, Line, Load, Option, PrescriptionError
from scoring.core.prescription import Workout as Prescription

from .test_credits import RINGS

PULL, BAND = ("pull-up", "ring row"), ("pull-up", "band pull-up")
credits = st.integers(1, 20_000).map(lambda n: Fraction(n, 10_000))
keys = st.sampled_from([PULL, BAND, ("swing", "deadlift"), ("thruster", "thruster @ 8 kg")])
tables = st.builds(
    CreditTable,
    options=st.dictionaries(keys, credits, max_size=4),
    default_option=credits,
    load_slope=st.integers(0, 10).map(lambda n: Fraction(n, 10)),
    load_floor=st.integers(1, 10).map(lambda n: Fraction(n, 10)),
    load_ceiling=st.integers(10, 20).map(lambda n: Fraction(n, 10)),
)
choices = st.one_of(
    st.builds(Choice, st.just(0), st.sampled_from([None, 0, 1])),
    st.builds(
        Choice,
        st.sampled_from([1, 2]),
        st.sampled_from([None, 0]),
        st.none() | st.integers(1, 60).map(lambda n: Load((Fraction(n, 2),), "kg")),
    ),
)


def test_a_change_sets_adds_takes_out_and_leaves_the_rest():
    old = CreditTable(version=7, options={PULL: Fraction("0.6"), BAND: Fraction("0.9")})
    new = changed(
        old,
        [
            Entry(*PULL, None),
            Entry("swing", "deadlift", Fraction("0.7")),
            Entry("", "default_option", Fraction("0.75")),
        ],
    )
    assert new.options == {BAND: Fraction("0.9"), ("swing", "deadlift"): Fraction("0.7")}
    assert (new.version, new.default_option, new.load_slope) == (
        7,
        Fraction("0.75"),
        Fraction(1, 2),
    )
    assert steps(old, new) == (
        Step(*PULL, Fraction("0.6"), None),
        Step("swing", "deadlift", None, Fraction("0.7")),
        Step("", "default_option", Fraction("0.8"), Fraction("0.75")),
    )


@pytest.mark.parametrize("entry", [Entry("", "sleep", Fraction(1)), Entry("", "load_slope", None)])
def test_what_is_no_figure_cannot_be_set(entry):
    with pytest.raises(ValueError, match="no figure"):
        changed(CreditTable(), [entry])


def test_a_credit_that_cannot_be_is_refused():
    with pytest.raises(PrescriptionError):
        changed(CreditTable(), [Entry(*PULL, Fraction(3))])


@given(tables, tables)
def test_the_steps_between_two_tables_lead_from_one_to_the_other_and_back(old, new):
    there = [Entry(s.movement, s.option, s.new) for s in steps(old, new)]
    back, conflicts = set_back(old, new, new)
    assert says_the_same(changed(old, there), new)
    assert says_the_same(changed(new, back), old) and conflicts == ()
    assert [entry_of(e.to_dict()) for e in there] == there


@given(tables, tables, tables)
def test_undoing_touches_only_what_the_change_set_and_nobody_set_again(old, new, now):
    entries, conflicts = set_back(old, new, now)
    own = {(s.movement, s.option): s for s in steps(old, new)}
    assert {e.key for e in entries} | {(c.movement, c.option) for c in conflicts} <= own.keys()
    for step in steps(now, changed(now, entries)):
        assert (step.old, step.new) == (
            own[step.movement, step.option].new,
            own[step.movement, step.option].old,
        )


@given(tables, tables, choices, st.booleans())
def test_a_course_that_is_not_touched_has_no_choice_that_counts_otherwise(
    old, new, choice, above_one
):
    line = RINGS.lines[choice.line]
    before = credit_for(line, choice, old, above_one=above_one)[0]
    after = credit_for(line, choice, new, above_one=above_one)[0]
    assert moves(RINGS, [choice], old, new, above_one=above_one) is (before != after)
    if before != after:
        assert touches(RINGS, old, new)


def test_only_what_the_board_leaves_open_is_touched():
    """Ring rows carry 0.5 on the board; band pull-ups are left to the table."""
    old = CreditTable()
    assert not touches(RINGS, old, changed(old, [Entry(*PULL, Fraction("0.9"))]))
    assert touches(RINGS, old, changed(old, [Entry(*BAND, Fraction("0.9"))]))
    assert not touches(RINGS, old, changed(old, [Entry("burpee", "step", Fraction("0.9"))]))
    assert not touches(RINGS, old, changed(old, [Entry(*BAND, Fraction("0.8"))]))
    assert touched_options(RINGS, [PULL, BAND]) == (["band pull-up"], ["ring row"])


def test_the_load_rule_touches_only_courses_with_a_load():
    bare = Course(
        Prescription("t", (Block(BlockKind.ROUNDS, (Line("push-up", 10),), rounds=2),), cap=600)
    )
    old = CreditTable()
    new = changed(old, [Entry("", "load_slope", Fraction(1, 4))])
    assert touches(RINGS, old, new) and not touches(bare, old, new)


@given(st.lists(choices, min_size=1, max_size=3, unique_by=lambda c: c.line))
def test_counting_reads_the_same_labels_as_the_parser_of_options(made):
    assume(all(c.option is not None or c.load is not None for c in made))
    counted = [Choice(c.line, c.option, c.load, 5) for c in made]
    expected = [(RINGS.lines[c.line].number, choice_label(RINGS.lines[c.line], c)) for c in made]
    assert list(labels_used(choices_text(RINGS, made))) == expected
    assert list(labels_used(choices_text(RINGS, counted))) == expected


def test_where_a_table_has_a_credit_from():
    table = CreditTable(options={("thruster", "goblet squat"): Fraction("0.9")})
    asked = [("goblet squat @ 8 kg", False), ("ring row", False), ("thruster @ 8 kg", True)]
    assert [credit_in(table, "thruster", name, by_load=load) for name, load in asked] == [
        (Fraction("0.9"), "in the table"),
        (Fraction("0.8"), "usual figure: nobody has set one"),
        (None, "by the load rule"),
    ]
    assert Option("goblet squat", Load((Fraction(8),), "kg")).label == "goblet squat @ 8 kg"
