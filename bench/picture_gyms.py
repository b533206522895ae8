"""What the pictures of many gyms show: forty invented ones, fitted and held against the truth.

That takes a while, so the figures of each gym are kept in ``docs/estimates/gyms.json``.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from scipy.special import ndtri

from scoring.core.estimation.fit import fit
from scoring.core.estimation.problem import problem
from scoring.core.estimation.residuals import residuals

from .calibrate import _held_out, _standardised
from .estimator_scene import Scene, Size, scene

KEPT = Path(__file__).parent.parent / "docs" / "estimates" / "gyms.json"
SIZE = Size(members=60, classes=26, each=24, movements=12, held=2)
GYMS = 40
NOMINAL = tuple(range(10, 100, 10))

EDGES = (-0.2, -0.05, 0.1, 0.3)
"""Between them lie about a fifth of the ways each, by how much oftener than their share of the
work they are what the clock stops."""


def one(seed: int) -> dict[str, Any]:
    """Draw a gym, fit it with and without the Jacobian term, hold both against the truth.

    ``ways`` tells of each fifth of the ways: how many, then of both fits the sum of errors of
    log seconds a rep and the sum of their squares. Errors are less the gym's mean error, which
    both fits share. ``inside`` are shares inside the intervals ``NOMINAL``, by figure.
    """
    drawn = scene(SIZE, seed)
    found = fit(drawn.ways, drawn.rows)
    # Taken for finishing times, unfinished marks enter without the term.
    as_times = replace(drawn.rows, stop=np.full(len(drawn.rows.stop), -1))
    without = fit(drawn.ways, as_times)
    fifth = np.digitize(_surplus(drawn, found.cost, found.spreads.fade), EDGES)
    ways = []
    errors = [each.cost - drawn.cost for each in (found, without)]
    for number in range(len(EDGES) + 1):
        own = fifth == number
        told: list[float] = [int(own.sum())]
        for error in errors:
            apart = (error - error.mean())[own]
            told += [_short(apart.sum()), _short(np.sum(apart**2))]
        ways.append(told)
    chances, _, _ = _held_out(drawn, found, np.random.default_rng(seed))
    inside = {
        name: [_short(np.mean(np.abs(apart) < ndtri(0.5 + share / 200))) for share in NOMINAL]
        for name, apart in _standardised(drawn, found)
    }
    from_middle = np.abs(chances - 0.5) * 200
    inside["places"] = [_short(np.mean(from_middle < share)) for share in NOMINAL]
    return {"seed": seed, "ways": ways, "inside": inside}


def _short(value: float) -> float:
    return round(float(value), 5)


def _surplus(drawn: Scene, cost: np.ndarray, fade: float) -> np.ndarray:
    """(P,) how often a way was under way when the clock stopped, above its share of the work,
    and against that share."""
    ready = problem(drawn.ways, drawn.rows)
    shares = residuals(ready, cost, fade).shares
    stopped = ready.stop >= 0
    stops = np.bincount(ready.stop[stopped], minlength=len(drawn.ways))
    return (stops - shares.T @ stopped.astype(float)) / np.maximum(shares.sum(axis=0), 1.0)


def written(gyms: Iterable[dict[str, Any]]) -> str:
    """A line a gym."""
    lines = ",\n".join(json.dumps(gym, separators=(",", ":")) for gym in gyms)
    return f"[\n{lines}\n]\n"


def kept() -> list[dict[str, Any]]:
    """As they were written last."""
    found: list[dict[str, Any]] = json.loads(KEPT.read_text(encoding="utf-8"))
    return found


def covered(gyms: list[dict[str, Any]]) -> dict[str, list[float]]:
    """Mean share of the truth inside each nominal interval, in percent, by figure."""
    return {
        name: [100 * float(x) for x in np.mean([gym["inside"][name] for gym in gyms], axis=0)]
        for name in gyms[0]["inside"]
    }


def errors(gyms: list[dict[str, Any]]) -> list[tuple[float, float, float, float]]:
    """Of each fifth the mean and the RMS error with the term, then both without, in percent."""
    total = np.sum([gym["ways"] for gym in gyms], axis=0)
    count = total[:, :1]
    mean, square = total[:, 1::2] / count, np.sqrt(total[:, 2::2] / count)
    columns = np.column_stack([mean[:, 0], square[:, 0], mean[:, 1], square[:, 1]])
    return [(row[0], row[1], row[2], row[3]) for row in (100 * columns).tolist()]
