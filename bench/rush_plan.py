"""When whom does what in a rush: a class ends, everybody logs and looks at the board.

Six in ten log in the seconds after the stream's end, the others when they get to it. Whoever
has logged looks at the board and again a little later; some press twice, some send again what
they had no answer to, under the same key. The same numbers give the same rush.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

END = 0.1
"""The stream ends after this share of the time; a few don't wait for it."""

AT_ONCE = 0.6
WITHIN = 0.08
"""How many log at once, and the mean of how soon, as a share of the time."""

BY_PROGRAM = 0.2
TWICE = 0.06
CORRECTED = 20
"""So many results a coach corrects, by the API's limit on how often somebody writes."""

READS = (("rows", 0.7), ("page", 0.2), ("board", 0.1))


@dataclass(frozen=True, slots=True, order=True)
class Step:
    """``at`` in seconds from the start; ``deed`` is ``form``, ``program``, ``correct`` or one
    of the reads; ``member`` is a position."""

    at: float
    deed: str
    member: int
    is_repeat: bool = False


def mark(member: int) -> tuple[str, str]:
    """What a member did: rounds and reps with an option; neighbours differ, many are level."""
    return f"{member * 7 % 5}+{member * 5 % 24}", "tuck rock" if member % 3 else ""


def plan(*, members: int, reads: int, seconds: float, seed: int = 1) -> list[Step]:
    """All steps in the order of time, none after ``seconds``."""
    dice = random.Random(seed)
    steps, logged = [], []
    for member in range(members):
        if dice.random() < AT_ONCE:
            at = seconds * (END + dice.expovariate(1 / WITHIN))
        else:
            at = seconds * dice.uniform(END / 2, 0.95)
        at = min(at, seconds * dice.uniform(0.9, 0.95))
        logged.append(at)
        deed = "program" if dice.random() < BY_PROGRAM else "form"
        steps.append(Step(at, deed, member))
        if dice.random() < TWICE:  # pressed twice, or sent again when no answer came
            later = 0.05 if dice.random() < 0.5 else dice.uniform(2, 6)
            steps.append(Step(min(at + later, seconds), deed, member, True))
    deeds, weights = zip(*READS, strict=True)
    for number in range(reads):
        member = number % members
        wait = seconds * dice.expovariate(1 / 0.05)
        at = min(logged[member] + wait, dice.uniform(logged[member], seconds))
        steps.append(Step(at, dice.choices(deeds, weights)[0], member))
    for number in range(min(CORRECTED, members // 10)):
        member = number * 7 % members
        steps.append(Step(min(logged[member] + seconds * 0.3, seconds), "correct", member))
    return sorted(steps)
