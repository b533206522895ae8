"""Figures for people: whole numbers bare, halves to even."""

from fractions import Fraction

import pytest

from scoring.core.figures import figure


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        # NIST SP 811 (2008) B.7.1: an exact 5 leaves an even digit
        ("6.9749515", 6, "6.974952"),
        ("6.9749505", 6, "6.97495"),
        ("6.9749515", 2, "6.97"),
        ("6.9749515", 1, "7"),
        ("171", 3, "171"),
        ("-0.125", 2, "-0.12"),
        ("-0.135", 2, "-0.14"),
    ],
)
def test_rounding_is_half_to_even(value, places, text):
    assert figure(Fraction(value), most=places) == text


def test_the_least_number_of_places_is_kept_where_not_whole():
    assert figure(Fraction("118.5"), least=3, most=6) == "118.500"
    assert figure(Fraction(1064, 9), least=3, most=6) == "118.222222"
    assert figure(Fraction(118), least=3, most=6) == "118"
