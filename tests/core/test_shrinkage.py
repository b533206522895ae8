"""Shrinkage against a published example, and what holds for any figures."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.shrinkage import shrink, within_variance

# Efron & Morris 1977, Scientific American 236(5):119-127: batting averages of eighteen
# players after 45 times at bat, and of the rest of the season. The factor .212 is printed there.
FIRST_45 = [
    0.4, 0.378, 0.356, 0.333, 0.311, 0.311, 0.289, 0.267, 0.244, 0.244, 0.222, 0.222, 0.222,
    0.222, 0.222, 0.2, 0.178, 0.156,
]  # fmt: skip
SEASON = [
    0.346, 0.298, 0.276, 0.222, 0.273, 0.27, 0.263, 0.21, 0.269, 0.23, 0.264, 0.256, 0.303,
    0.264, 0.226, 0.285, 0.316, 0.2,
]  # fmt: skip


def test_the_published_example():
    mean = sum(FIRST_45) / 18
    found = shrink(FIRST_45, mean * (1 - mean) / 45)
    assert found.mean == pytest.approx(0.2654, abs=5e-5)
    assert found.factor == pytest.approx(0.212, abs=5e-4)
    assert found.values[:4] == pytest.approx([0.294, 0.2893, 0.2846, 0.2797], abs=1e-4)
    plain = sum((a - b) ** 2 for a, b in zip(FIRST_45, SEASON, strict=True))
    drawn = sum((a - b) ** 2 for a, b in zip(found.values, SEASON, strict=True))
    assert plain / drawn == pytest.approx(3.537, abs=1e-3)


figures = st.lists(st.floats(-5, 5), min_size=1, max_size=30)


@given(values=figures, variance=st.floats(1e-3, 10))
def test_figures_move_towards_the_mean_and_keep_their_order(values, variance):
    found = shrink(values, variance)
    assert 0 <= found.factor <= 1
    for number, (before, after) in enumerate(zip(values, found.values, strict=True)):
        assert abs(after - found.mean) <= abs(before - found.mean) + 1e-9
        low, high = found.interval(number)
        assert low < after < high  # never sure, not even of the middle
    order = sorted(range(len(values)), key=values.__getitem__)
    assert all(found.values[a] <= found.values[b] + 1e-9 for a, b in pairwise(order))


def test_a_noisier_figure_is_believed_less():
    values = [0.1, -0.2, 0.3, 0.0, -0.4]
    assert shrink(values, 0.01).factor > shrink(values, 0.05).factor
    assert shrink(values, 10).factor == 0


def test_few_figures_take_the_usual_factor():
    assert shrink([0.1, 0.3], 0.01, usual_factor=0.25).values == pytest.approx((0.175, 0.225))
    with pytest.raises(ValueError):
        shrink([], 0.1)
    with pytest.raises(ValueError):
        shrink([1.0], 0)


def test_variance_within_groups_is_pooled_by_hand():
    # (1,2,3): squares 2 of 2 degrees; (4,4,7): mean 5, squares 6 of 2 degrees → 8/4 = 2
    assert within_variance({"a": [1, 2, 3], "b": [4, 4, 7], "c": [9, 1]}) == 2
    assert within_variance({"c": [9, 1]}) is None
    assert within_variance({"a": [1, 1, 1]}) is None
