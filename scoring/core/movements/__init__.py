"""The tables of known movements, one file a pattern.

Usual seconds, easier options and cautions: common practice, no source. The seconds are
a starting figure for planning and for weighted classes, not a measurement; the standards
are our own words. A caution is no medical advice: pain, dizziness or a known condition
belong with a licensed professional, and the set ends there.
"""

from __future__ import annotations

from . import (
    carry,
    core,
    hinge,
    hold,
    jump,
    locomotion,
    lunge,
    machine,
    mobility,
    pull,
    push,
    squat,
    whole_body,
)
from .entry import Movement, Pattern, Sides

MOVEMENTS: tuple[Movement, ...] = tuple(
    row
    for module in (
        squat,
        hinge,
        lunge,
        push,
        pull,
        core,
        hold,
        carry,
        jump,
        locomotion,
        machine,
        whole_body,
        mobility,
    )
    for row in module.TABLE.rows
)
"""Every known movement, in the order of the tables."""

__all__ = ["MOVEMENTS", "Movement", "Pattern", "Sides"]
