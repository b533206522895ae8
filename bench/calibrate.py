"""Whether intervals hold what they promise, and by how much the estimator beats simpler ways.

``make calibrate`` draws gyms from the model with known truth (estimator_scene.py), fits each,
forecasts classes that were held back, and prints how often the truth lay inside. An honest
80 % interval holds it in four of five cases.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from time import perf_counter

import numpy as np
from scipy.stats import rankdata, spearmanr

from scoring.core.estimation.estimate import Estimate
from scoring.core.estimation.fit import fit
from scoring.core.estimation.forecast import Field
from scoring.core.estimation.track import Sets, Track

from .estimator_scene import LARGE, SMALL, Scene, Size, scene

Z_80, Z_50 = 1.2815515655446004, 0.6744897501960817
DRAWS = 1000


@dataclass(frozen=True, slots=True)
class Seed:
    """What one invented gym gave: shares inside by figure, and errors by method."""

    inside: dict[str, tuple[float, float]]
    figures: dict[str, float]
    seconds: float
    converged: bool


def one(size: Size, seed: int) -> Seed:
    """Draw, fit and hold against the truth."""
    drawn = scene(size, seed)
    began = perf_counter()
    found = fit(drawn.ways, drawn.rows)
    seconds = perf_counter() - began
    inside, figures = {}, {}
    for name, apart in _standardised(drawn, found):
        inside[name] = (_share(np.abs(apart) < Z_80), _share(np.abs(apart) < Z_50))
    chances, errors, orders = _held_out(drawn, found, np.random.default_rng(seed))
    inside["places, held out"] = (
        _share(np.abs(chances - 0.5) < 0.4),
        _share(np.abs(chances - 0.5) < 0.25),
    )
    figures |= _errors(drawn, found)
    figures["error of place, held out, median"] = float(np.median(errors))
    figures |= _levels(drawn, found, orders)
    return Seed(inside, figures, seconds, found.convergence.converged)


def _share(flags: np.ndarray) -> float:
    return float(np.mean(flags))


def _standardised(drawn: Scene, found: Estimate) -> Iterator[tuple[str, np.ndarray]]:
    spread = found.covariance
    yield "costs", (drawn.cost - found.cost) / np.sqrt(np.diag(spread))
    own = np.flatnonzero(drawn.ways.parent >= 0)
    to = drawn.ways.parent[own]
    variance = spread[own, own] + spread[to, to] - 2 * spread[own, to]
    apart = (drawn.cost[own] - drawn.cost[to]) - (found.cost[own] - found.cost[to])
    yield "credits", apart / np.sqrt(variance)
    truth = _true_levels(drawn, found)
    yield "levels", (truth - found.levels.mean) / np.sqrt(found.levels.variance)
    kept = found.levels
    first, last = kept.start[:-1], kept.start[1:] - 1
    first, last = first[last > first], last[last > first]
    changed = kept.variance[last] + kept.variance[first] - 2 * kept.with_last[first]
    moved = (truth[last] - truth[first]) - (kept.mean[last] - kept.mean[first])
    yield "levels, first to last", moved / np.sqrt(changed)
    fitted = np.unique(drawn.rows.class_)
    yield (
        "class effects",
        (drawn.effect[fitted] - found.effect[fitted]) / np.sqrt(found.effect_variance[fitted]),
    )


def _true_levels(drawn: Scene, found: Estimate) -> np.ndarray:
    days = np.array([each.day for each in drawn.classes])
    member = np.repeat(np.arange(drawn.rows.members), np.diff(found.levels.start))
    return drawn.level[np.searchsorted(days, found.levels.day), member]


def _held_out(
    drawn: Scene, found: Estimate, random: np.random.Generator
) -> tuple[np.ndarray, np.ndarray, dict[int, np.ndarray]]:
    """Of each held result: the (randomised) share of draws below it, and its error; by class
    the order forecast, more being better."""
    chances, errors, forecast = [], [], {}
    for number in np.unique(drawn.class_[drawn.held]):
        at = np.flatnonzero(drawn.class_ == number)
        group, own = drawn.classes[number], np.array([drawn.taken[i] for i in at])
        patterns, chosen = np.unique(own, axis=0, return_inverse=True)
        field = Field(
            found,
            [_track(drawn, group, pattern) for pattern in patterns],
            chosen.ravel(),
            drawn.member[at],
            group.day,
            draws=DRAWS,
        )
        places, seen = field.places(group.cap), drawn.done[at][:, None]
        below, same = np.mean(places < seen, axis=1), np.mean(places == seen, axis=1)
        chances.append(below + random.uniform(size=len(at)) * same)
        middle = np.median(places, axis=1)
        # Where all who finish share a place, the time they need tells them apart.
        amrap = group.finite < len(group.reps)
        forecast[int(number)] = (
            places.mean(axis=1) if amrap else -field.pace(int(group.block.max()) + 1).mean(axis=1)
        )
        errors.append(np.abs(middle - drawn.done[at]) / np.maximum(drawn.done[at], 1))
    return np.concatenate(chances), np.concatenate(errors), forecast


def _track(drawn: Scene, group, pattern: np.ndarray) -> Track:
    listed = sorted({drawn.ways.ways[i] for i in pattern}, key=lambda way: way.key)
    index = {drawn.ways.position(way): number for number, way in enumerate(listed)}
    sets = Sets(
        np.array([index[i] for i in pattern]), group.reps.astype(float), group.reps, group.block + 1
    )
    none = np.zeros(0, dtype=np.int64)
    blocks = int(group.block.max()) + 1
    return Track(
        tuple(listed), sets, Sets(none, np.zeros(0), none, none), np.zeros(blocks), int(group.cap)
    )


def _errors(drawn: Scene, found: Estimate) -> dict[str, float]:
    own = np.flatnonzero(drawn.ways.parent >= 0)
    to = drawn.ways.parent[own]
    truth = drawn.cost[own] - drawn.cost[to]

    def rms(apart: np.ndarray) -> float:
        return float(np.sqrt(np.mean(apart**2)))

    return {
        "error of an option's worth, RMS log: coach's credits": rms(truth - drawn.ways.tie[own]),
        "error of an option's worth, RMS log: estimator": rms(
            truth - (found.cost[own] - found.cost[to])
        ),
        "error of seconds a rep, RMS log: catalogue": rms(drawn.cost - drawn.ways.base),
        "error of seconds a rep, RMS log: estimator": rms(drawn.cost - found.cost),
    }


def _levels(drawn: Scene, found: Estimate, forecast: dict[int, np.ndarray]) -> dict[str, float]:
    """How well each way of telling levels agrees with the true ones, and foretells an order."""
    figures = defaultdict(lambda: np.full((2, len(drawn.member)), np.nan))
    credit = np.exp(np.where(drawn.ways.parent >= 0, drawn.ways.tie, 0.0))
    credited = np.array(
        [
            _credited(drawn.classes[c].reps, credit[way], done)
            for c, way, done in zip(drawn.class_, drawn.taken, drawn.done, strict=True)
        ]
    )
    for number in range(len(drawn.classes)):
        at = np.flatnonzero(drawn.class_ == number)
        for name, reps in (("raw reps", drawn.done), ("the coach's credits", credited)):
            # A finish ranks by its time, above every mark that is none.
            order = np.where(drawn.finished[at], 1e6 - drawn.seconds[at], reps[at])
            figures[name][0, at] = (rankdata(order) - 0.5) / len(at)
            apart = reps[at] - reps[at].mean()
            figures[name][1, at] = apart / max(float(reps[at].std()), 1e-9)
    told = ~drawn.held
    members = drawn.rows.members
    known = np.diff(found.levels.start) > 0
    last = found.levels.start[1:][known] - 1
    truth = -_true_levels(drawn, found)[last]
    result = {}
    ours = -found.levels.mean[last]
    result["level and truth, correlation: estimator"] = float(np.corrcoef(ours, truth)[0, 1])
    orders = {"estimator": forecast}
    for name, both in figures.items():
        for label, values in zip(("mean class percentile", "mean z-score"), both, strict=True):
            sums = np.bincount(drawn.member[told], values[told], minlength=members)
            counts = np.bincount(drawn.member[told], minlength=members)
            mean = sums / np.maximum(counts, 1)
            key = f"{label} by {name}"
            result[f"level and truth, correlation: {key}"] = float(
                np.corrcoef(mean[known], truth)[0, 1]
            )
            orders[key] = {
                number: mean[drawn.member[drawn.class_ == number]] for number in forecast
            }
    for name, by_class in orders.items():
        agreed = []
        for number, told_order in by_class.items():
            at = np.flatnonzero(drawn.class_ == number)
            seen = np.where(drawn.finished[at], 1e6 - drawn.seconds[at], drawn.done[at])
            agreed.append(spearmanr(told_order, seen).statistic)
        result[f"order of a class held out, rank correlation: {name}"] = float(np.nanmean(agreed))
    return result


def _credited(reps: np.ndarray, credit: np.ndarray, done: int) -> float:
    left = np.clip(done - (np.cumsum(reps) - reps), 0, reps)
    return float(left @ credit)


def report(name: str, size: Size, seeds: int, jobs: int) -> bool:
    """Print one size's tables; whether every 80 % row lies in 76-84 %."""
    with ProcessPoolExecutor(jobs) as pool:
        runs = list(pool.map(partial(one, size), range(seeds)))
    print(
        f"\n{name}: {size.members:,} members, {size.classes} classes, {size.each} results a class, "
        f"{seeds} seeds; {sum(r.converged for r in runs)} fits came to rest; "
        f"{np.median([r.seconds for r in runs]):.1f} s a fit"
    )
    print(f"{'the truth lay inside':34}{'80 %':>8}{'50 %':>8}{'seeds between':>18}")
    good = all(run.converged for run in runs)
    for figure in runs[0].inside:
        wide = [run.inside[figure][0] for run in runs]
        narrow = [run.inside[figure][1] for run in runs]
        low, high = np.quantile(wide, [0.1, 0.9])
        mean = float(np.mean(wide))
        good &= 0.76 <= mean <= 0.84
        print(
            f"{figure:34}{100 * mean:7.1f}%{100 * np.mean(narrow):7.1f}%"
            f"{100 * low:11.0f} to {100 * high:.0f} %"
        )
    print(f"{'beside simpler ways (mean of seeds)':78}{'':>8}")
    for figure in runs[0].figures:
        print(f"{figure:78}{np.mean([run.figures[figure] for run in runs]):8.3f}")
    return good


def main() -> int:
    """Print the tables of a small and a large gym."""
    asked = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    asked.add_argument("--seeds", type=int, default=20, help="how many large gyms")
    asked.add_argument("--small-seeds", type=int, default=100, help="how many small ones")
    asked.add_argument("--jobs", type=int, default=2, help="how many at a time")
    asked.add_argument("--size", choices=("small", "large", "both"), default="both")
    given = asked.parse_args()
    good = True
    if given.size != "large":
        good &= report("A small gym", SMALL, given.small_seeds, given.jobs)
    if given.size != "small":
        good &= report("A large gym", LARGE, given.seeds, given.jobs)
    print("\nEvery 80 % row lies in 76-84 %." if good else "\nSome row lies outside 76-84 %.")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
