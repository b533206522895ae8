"""Which of a movement's loads the others are compared with."""

from scoring.core.course import Course
from scoring.core.credits import CreditTable
from scoring.core.estimation.listing import ways_of
from scoring.core.notation import parse


def course(load):
    return Course(parse(f"Squats\namrap 9:00\n5 goblet squat @ {load} kg\n").workout, weighted=True)


def roots(*loads):
    found = ways_of([course(load) for load in loads], CreditTable())
    return [w.load for w, p in zip(found.ways, found.parent, strict=True) if p < 0]


def test_of_loads_prescribed_equally_often_the_lightest_is_one():
    assert roots("12", "8") == roots("8", "12") == ["8"]
    assert roots("20/12", "16/10") == ["16/10"]


def test_a_load_prescribed_more_often_is_one_however_heavy():
    assert roots("12", "8", "12") == ["12"]
