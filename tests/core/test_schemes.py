"""The register of schemes: one claims each course, broken ones fail loudly."""

import pytest

from scoring.core.course import Course
from scoring.core.prescription import Block, BlockKind, Line, Workout
from scoring.core.schemes import Scheme, SchemeError, register, scheme_for, schemes
from scoring.core.schemes.for_time import ForTime

from .boards import COURSES


@pytest.mark.parametrize(
    ("course", "name"),
    [("L", "into-amrap"), ("M", "for-time"), ("rounds", "for-time"), ("amrap", "amrap"),
     ("intervals", "intervals"), ("load", "max-load")],
)  # fmt: skip
def test_each_course_has_exactly_one_scheme(course, name):
    assert scheme_for(COURSES[course]).name == name


def test_a_course_without_scored_blocks_has_none():
    block = Block(BlockKind.ROUNDS, (Line("air squat", 5),), scored=False)
    with pytest.raises(SchemeError, match="no scheme"):
        scheme_for(Course(Workout("practice", (block,))))


def test_a_taken_name_is_refused():
    with pytest.raises(SchemeError, match="already"):
        register(type("Again", (ForTime,), {}))


def test_an_incomplete_scheme_is_refused():
    class Half(Scheme):
        name = "half"
        label = "half"

    with pytest.raises(SchemeError, match="leaves out"):
        register(Half)
    with pytest.raises(SchemeError, match="no name"):
        register(type("Nameless", (Scheme,), {}))
    assert "half" not in {scheme.name for scheme in schemes()}
