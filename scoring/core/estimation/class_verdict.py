"""Was it the workout or the day? The short answer, for a list of classes.

It is decided by the figures as they are shown, in whole percent: who reads "-5 to 0 %" can see
for themselves whether none at all is among them.
"""

from __future__ import annotations

from .class_words import SMALL, ClassEffect, Times


def stands_out(found: ClassEffect) -> bool:
    """Whether a difference is worth a word and none at all is out of its range, as shown."""
    out = round(found.low) > 0 or round(found.high) < 0
    return out and abs(round(found.percent)) >= SMALL


def verdict(own: ClassEffect, times: Times | None) -> str:
    """Which of the two it was. What other runs of a workout show too is never the day."""
    if times is None:
        if stands_out(own):
            return "Clear, but given only once: the day, or the workout"
        return "May be chance"
    day, workout = stands_out(times.beside), stands_out(times.others)
    if day and workout:
        return "The workout, and the day too"
    if workout and own.percent * times.others.percent > 0:
        return "The workout: its other runs show the same"
    if day:
        return "The day: its other runs went otherwise"
    return "May be chance"
