"""An estimate with ways added that no result has told of yet, as a draft's new option."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from .assumptions import COST_SPREAD, TIE_SPREAD
from .estimate import Estimate, principal
from .ways import Floats, Ints, Ways


def extended(estimate: Estimate, ways: Ways) -> Estimate:
    """The estimate with those of ``ways`` that it doesn't hold, each by its prior.

    A new root has log seconds N(``base``, ``COST_SPREAD``²), by itself. A new tied way is its
    parent as estimated, plus ``tie``, plus N(0, ``TIE_SPREAD``²) of its own, so it goes along
    with its parent and all that the parent goes along with. What the estimate holds stays as
    it is, whatever ``ways`` ties it to.

    Raises
    ------
    ValueError
        For a way tied in a circle.
    """
    old = estimate.ways
    held = old.positions
    fresh = [index for index, way in enumerate(ways.ways) if way not in held]
    if not fresh:
        return estimate
    size = len(old) + len(fresh)
    # Old ways first, then the new ones, each after its parent.
    at = {index: held[way] for index, way in enumerate(ways.ways) if way in held}
    base, tie = np.empty(size), np.zeros(size)
    parent = np.full(size, -1, dtype=np.int64)
    base[: len(old)], tie[: len(old)], parent[: len(old)] = old.base, old.tie, old.parent
    cost = np.concatenate([estimate.cost, np.empty(len(fresh))])
    covariance = np.zeros((size, size))
    covariance[: len(old), : len(old)] = estimate.covariance
    lean = estimate.levels.lean
    leaning = np.zeros((lean.shape[1], size))
    if len(lean):  # without members there is nothing to turn, and no need to find directions
        leaning[:, : len(old)] = _leaning(estimate)
    order = _parents_first(ways, fresh, set(at))
    for position, index in enumerate(order, start=len(old)):
        at[index] = position
        if ways.parent[index] < 0:
            base[position] = cost[position] = ways.base[index]
            covariance[position, position] = COST_SPREAD**2
            continue
        to = at[int(ways.parent[index])]
        parent[position], tie[position] = to, ways.tie[index]
        base[position] = base[to] + tie[position]
        cost[position] = cost[to] + tie[position]
        covariance[position, :position] = covariance[to, :position]
        covariance[:position, position] = covariance[:position, to]
        covariance[position, position] = covariance[to, to] + TIE_SPREAD**2
        leaning[:, position] = leaning[:, to]
    names = [*old.ways, *(ways.ways[index] for index in order)]
    by_key = np.array(sorted(range(size), key=lambda i: names[i].key), dtype=np.int64)
    covariance = covariance[np.ix_(by_key, by_key)]
    kept = min(size, len(leaning) + len(fresh))
    if len(lean):
        lean = lean @ _turned(leaning[:, by_key], covariance, kept)
    return replace(
        estimate,
        ways=Ways(
            tuple(names[i] for i in by_key), base[by_key], _moved(parent, by_key), tie[by_key]
        ),
        cost=cost[by_key],
        covariance=covariance,
        used=np.concatenate([estimate.used, np.zeros(len(fresh), dtype=np.int64)])[by_key],
        levels=replace(estimate.levels, lean=lean),
    )


def _parents_first(ways: Ways, fresh: list[int], known: set[int]) -> list[int]:
    order: list[int] = []
    placed = set(known)
    waiting = fresh
    while waiting:
        later = []
        for index in waiting:
            to = int(ways.parent[index])
            if to < 0 or to in placed:
                order.append(index)
                placed.add(index)
            else:
                later.append(index)
        if len(later) == len(waiting):
            raise ValueError(f"{ways.ways[later[0]].label} is tied in a circle.")
        waiting = later
    return order


def _moved(parent: Ints, by_key: Ints) -> Ints:
    """Parents as positions in the new order."""
    where = np.empty(len(by_key), dtype=np.int64)
    where[by_key] = np.arange(len(by_key))
    moved = parent[by_key]
    return np.where(moved < 0, -1, where[moved])


def _leaning(estimate: Estimate) -> Floats:
    """What the ways' log seconds share with a last state that leans by 1 on one of the kept
    directions, (K, P); times a member's lean it is their covariance."""
    kept = estimate.levels.lean.shape[1]
    directions, spread = estimate.directions
    found: Floats = spread[:kept, None] * directions[:, :kept].T
    return found


def _turned(leaning: Floats, covariance: Floats, kept: int) -> Floats:
    """The same along the widest directions of the new covariance, in their standard
    deviations, (K, kept)."""
    directions, spread = principal(covariance)
    along: Floats = leaning @ directions[:, :kept]
    wide = spread[:kept] > 0
    along[:, wide] /= spread[:kept][wide]
    along[:, ~wide] = 0.0
    return along
