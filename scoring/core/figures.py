"""Exact figures as text: the one place where a fraction is rounded for people."""

from __future__ import annotations

from fractions import Fraction


def figure(value: Fraction, *, least: int = 0, most: int = 3) -> str:
    """A number as a decimal: whole numbers bare, others with ``least`` to ``most`` places.

    Rounded half to even (NIST SP 811, appendix B.7.1) where it doesn't end by then.
    """
    if value.denominator == 1:
        return str(value.numerator)
    scaled = round(value * 10**most)
    sign = "-" if scaled < 0 else ""
    whole, part = divmod(abs(scaled), 10**most)
    digits = f"{part:0{most}d}".rstrip("0").ljust(least, "0") if most else ""
    return f"{sign}{whole}" + (f".{digits}" if digits else "")
