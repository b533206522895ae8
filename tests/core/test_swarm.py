"""Dots gathered into lines: everybody stands in one, in the order of the scale."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.swarm import steps


def test_by_hand():
    lines = steps([0, 12.9, 13, 40, 99], 13, 4)
    assert [(line.step, line.members) for line in lines] == [(0, (0, 1)), (1, (2,)), (3, (3, 4))]


@given(st.lists(st.floats(0, 1000), max_size=60), st.floats(1, 50), st.integers(1, 30))
def test_nobody_is_lost_and_nobody_stands_twice(places, size, count):
    lines = steps(places, size, count)
    assert sorted(i for line in lines for i in line.members) == list(range(len(places)))
    assert [line.step for line in lines] == sorted({line.step for line in lines})
    assert all(0 <= line.step < count for line in lines)


@pytest.mark.parametrize(("size", "count"), [(0, 3), (-1, 3), (5, 0)])
def test_a_scale_without_steps_is_refused(size, count):
    with pytest.raises(ValueError, match="steps"):
        steps([1.0], size, count)
