"""What is common to a class and what is a member's own."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.levels import levels


def test_other_people_in_a_class_do_not_make_it_faster():
    """Two classes alike; the quick come to the first, the slow to the second, one to both."""
    quick, slow = 1.0, -1.0
    rows = [(1, 10, quick), (2, 10, quick), (1, 11, quick), (3, 11, quick)]
    rows += [(2, 20, slow), (3, 20, slow), (2, 21, slow), (1, 21, slow)]
    found = levels(rows)
    assert list(found.classes.values()) == pytest.approx([0, 0, 0], abs=1e-5)
    assert found.members[10] - found.members[20] == pytest.approx(2, abs=1e-5)


def test_a_hand_worked_layout():
    """Everybody in every class: means of rows and columns, as in any textbook."""
    figures = {(1, 1): 3.0, (1, 2): 5.0, (2, 1): 7.0, (2, 2): 9.0}
    found = levels((c, m, value) for (c, m), value in figures.items())
    assert found.classes == pytest.approx({1: -2, 2: 2})
    assert found.members == pytest.approx({1: 5, 2: 7})
    assert found.found[1] == pytest.approx({1: -2, 2: -2})


def test_who_was_there_once_tells_nothing_of_classes():
    found = levels([(1, 1, 0.0), (2, 1, 2.0), (2, 9, 50.0), (3, 8, 7.0)])
    assert found.classes == pytest.approx({1: -1, 2: 1}) and set(found.members) == {1}
    assert levels([]).classes == {} and levels([(1, 1, 4.0)]).classes == {}


@given(
    st.lists(st.floats(-2, 2), min_size=2, max_size=6),
    st.lists(st.tuples(st.floats(-2, 2), st.sets(st.integers(1, 5))), min_size=1, max_size=12),
)
def test_exact_levels_are_found_again_whoever_came(classes, people):
    """All share class 0, so every class hangs together with every other that is visited."""
    visits = [
        (c, m, own + classes[c])
        for m, (own, came) in enumerate(people)
        for c in sorted({0} | {c % len(classes) for c in came})
    ]
    found = levels(visits)
    for one in found.classes:
        for other in found.classes:
            gap = found.classes[one] - found.classes[other]
            assert gap == pytest.approx(classes[one] - classes[other], abs=1e-3)
    total = sum(value for own in found.found.values() for value in own.values())
    assert total == pytest.approx(0, abs=1e-3)
