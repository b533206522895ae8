"""What tests of a gym's past share."""

import pytest

from .past_classes import held_class


@pytest.fixture
def past(people):
    """A gym in which four classes were held."""
    for number in range(4):
        held_class(people, number)
    return people
