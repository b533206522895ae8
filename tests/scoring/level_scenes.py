"""Snapshots with levels and effects of our choosing, for tests of what reads them."""

from zoneinfo import ZoneInfo

import numpy as np
from django.utils import timezone

from scoring.core.estimation.estimate import Convergence, Estimate, LevelPaths, Spreads
from scoring.core.estimation.packing import packed
from scoring.core.estimation.ways import tied
from scoring.models import EstimateRun, EstimateSnapshot, Result
from scoring.selectors.levels import day_number

SPREADS = Spreads(level=0.25, drift=0.01)


def keys(values):
    return np.array(values, dtype="<i8").tobytes()


def taught(gym, levels=None, effects=None, *, until=None, spreads=SPREADS, converged=True):
    """A gym's snapshot.

    ``levels`` holds for each member (moment, mean of u, its standard deviation) of each day
    with a result, which are taken to be independent; ``effects`` for each class its effect and
    standard deviation.
    """
    levels, effects = levels or {}, effects or {}
    states = [state for path in levels.values() for state in path]
    results = sorted(Result.objects.filter(streamed_class__gym=gym).values_list("pk", flat=True))
    count = len(states)
    estimate = Estimate(
        ways=tied({}, {}),
        cost=np.zeros(0),
        covariance=np.zeros((0, 0)),
        used=np.zeros(0, dtype=np.int64),
        spreads=spreads,
        levels=LevelPaths(
            start=np.cumsum([0, *(len(path) for path in levels.values())]),
            day=np.array(
                [day_number(moment, ZoneInfo(gym.timezone)) for moment, _, _ in states], dtype=float
            ),
            mean=np.array([mean for _, mean, _ in states], dtype=float),
            variance=np.array([spread**2 for _, _, spread in states], dtype=float),
            gain=np.zeros(count),
            with_last=np.array(
                [
                    spread**2 if number == len(path) - 1 else 0.0
                    for path in levels.values()
                    for number, (_, _, spread) in enumerate(path)
                ]
            ),
            results=np.ones(count, dtype=np.int64),
            lean=np.zeros((len(levels), 0)),
        ),
        effect=np.array([effect for effect, _ in effects.values()], dtype=float),
        effect_variance=np.array([spread**2 for _, spread in effects.values()], dtype=float),
        expected=np.zeros(len(results)),
        convergence=Convergence(True, 3, 0.0),
    )
    now = timezone.now()
    run = EstimateRun.objects.create(gym=gym, state="good", finished_at=now)
    return EstimateSnapshot.objects.create(
        run=run,
        gym=gym,
        fingerprint="0" * 64,
        rules_version=1,
        model_version=1,
        code="",
        until=until or max((moment for moment, _, _ in states), default=None),
        result_count=len(results),
        member_count=len(levels),
        class_count=len(effects),
        converged=converged,
        convergence="",
        figures=packed(estimate),
        members=keys([member.pk for member in levels]),
        classes=keys([streamed.pk for streamed in effects]),
        results=keys(results),
    )
