"""Estimates by hand, kept as if results had taught them."""

from dataclasses import replace
from math import log

import numpy as np

from scoring.core.estimation.estimate import Estimate, LevelPaths
from scoring.core.estimation.packing import packed
from scoring.models import EstimateRun, EstimateSnapshot
from scoring.selectors import estimates

from ..conftest import NOW


def keys(rows):
    return np.array([row.pk for row in rows], dtype="<i8").tobytes()


def keep(gym, estimate, *, members=(), classes=(), results=(), **fields):
    """A snapshot of an estimate whose positions are these members, classes and results."""
    run = EstimateRun.objects.create(gym=gym, state="good", finished_at=NOW)
    given = {
        "fingerprint": "f" * 64, "rules_version": 1, "model_version": 1, "code": "",
        "made_at": NOW, "until": NOW, "result_count": 312, "member_count": 40,
        "class_count": 9, "converged": True, "convergence": "",
    }  # fmt: skip
    return EstimateSnapshot.objects.create(
        run=run,
        gym=gym,
        figures=packed(estimate),
        members=keys(members),
        classes=keys(classes),
        results=keys(results),
        **given | fields,
    )


def learned(gym, worths=(), *, levels=(), expected=(), classes=0) -> Estimate:
    """What a gym's boards say, with some ways known.

    ``worths`` are (way, worth, log spread, results); ``levels`` a (log slowness, spread) for
    each member, on the day of ``NOW``; ``expected`` a z for each result. ``classes`` have nothing in
    common that others don't.
    """
    start = estimates.held(gym_id=gym.pk).estimate
    cost, covariance, used = start.cost.copy(), np.zeros_like(start.covariance), start.used.copy()
    for way, worth, spread, results in worths:
        at = start.ways.position(way)
        cost[at] = cost[start.ways.parent[at]] + log(worth)
        covariance[at, at] = spread**2
        used[at] = results
    count = len(levels)
    return replace(
        start,
        cost=cost,
        covariance=covariance,
        used=used,
        levels=LevelPaths(
            start=np.arange(count + 1),
            day=np.full(count, float(NOW.date().toordinal())),
            mean=np.array([level for level, _ in levels], dtype=float),
            variance=np.array([spread**2 for _, spread in levels], dtype=float),
            gain=np.zeros(count),
            with_last=np.array([spread**2 for _, spread in levels], dtype=float),
            results=np.ones(count, dtype=np.int64),
            lean=np.zeros((count, 0)),
        ),
        effect=np.zeros(classes),
        effect_variance=np.full(classes, 0.05**2),
        expected=np.array(expected, dtype=float),
    )
