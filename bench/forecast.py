"""How long a forecast takes: a class of members with a few sets of choices each."""

from __future__ import annotations

import time

import numpy as np

from scoring.core.course import Course
from scoring.core.credits import Choice
from scoring.core.estimation.estimate import Estimate, Spreads, prior
from scoring.core.estimation.forecast import Field
from scoring.core.estimation.naming import reference_seconds
from scoring.core.estimation.track import Track, track
from scoring.core.estimation.ways import Way, tied
from scoring.core.notation import parse

from .report import Report

BOARD = """Two ladders and the time left
cap 16:00

21-15-9
goblet squat @ 20 kg
  or air squat
hollow rock
  or tuck rock
push-up
  or push-up on knees

12-9-6
lunge
  or step-up
sit-up

amrap in the time left
10 burpee
  or step-back burpee
12 air squat
"""

CHOICES = 16
"""Ways to do the board: each member takes some of its options."""


def scene() -> tuple[Estimate, list[Track]]:
    """The prior of a board's ways, and the board by every set of four lines' options."""
    course = Course(parse(BOARD).workout, weighted=True)
    sets = [
        {n: Choice(n, option=0) for n, bit in zip((0, 1, 2, 3), bits, strict=True) if bit}
        for bits in np.ndindex(2, 2, 2, 2)
    ]
    tracks = [track(course, chosen) for chosen in sets]
    roots = {
        Way(line.line.movement, "", "20" if line.line.load else ""): float(reference_seconds(line))
        for line in course.lines
    }
    ways = sorted({way for one in tracks for way in one.ways} - set(roots), key=lambda w: w.key)
    ties = {
        way: (next(root for root in roots if root.movement == way.movement), 0.8) for way in ways
    }
    return prior(tied(roots, ties)), tracks


def seconds(members: int, draws: int = 2000, repeats: int = 5) -> float:
    """The best of a few runs, with what a planning page asks: the forecast and one cap."""
    estimate, tracks = scene()
    assert estimate.spreads == Spreads()
    chosen = np.arange(members) % len(tracks)
    nobody = np.full(members, -1)
    best = np.inf
    for _ in range(repeats):
        start = time.perf_counter()
        field = Field(estimate, tracks, chosen, nobody, 0.0, draws=draws)
        field.forecast()
        field.cap_for(0.8)
        best = min(best, time.perf_counter() - start)
    return best


def measure(report: Report) -> None:
    """Add a line for groups of three sizes; the aim is that of the largest."""
    for members in (20, 100, 500):
        report.add(
            f"forecast, {members} members × 2,000 draws, {CHOICES} sets of choices",
            seconds(members),
            "s",
            aim=0.5 if members == 500 else None,
        )
