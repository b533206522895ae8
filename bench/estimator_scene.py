"""An invented gym with known truth, drawn from the model itself: what estimates are held against.

Classes are two ladders of falling reps and an AMRAP, or the ladders alone for time. Spreads,
seconds and credits are of our own making.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from scoring.core.estimation.assumptions import COST_SPREAD, FADE, TIE_SPREAD
from scoring.core.estimation.rows import Rows
from scoring.core.estimation.ways import Floats, Ints, Way, Ways, tied

ROUNDS = 40


@dataclass(frozen=True, slots=True)
class Size:
    """How large the gym is; ``each`` are results a class, ``held`` classes kept from the fit."""

    members: int
    classes: int
    each: int
    movements: int
    held: int = 0
    options: int = 1


SMALL = Size(members=60, classes=36, each=24, movements=24, held=3)
LARGE = Size(members=2_000, classes=500, each=40, movements=60, held=10)


@dataclass(frozen=True, slots=True)
class Drawn:
    """A class as it was drawn: its sets (way of the movement, reps) and cap."""

    day: float
    cap: float
    movement: Ints
    reps: Ints
    block: Ints
    finite: int


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """Truth and results. Per result: ``way`` (sets) of each, whole reps done, seconds."""

    ways: Ways
    cost: Floats
    level: list[Floats]
    effect: Floats
    rows: Rows
    classes: list[Drawn]
    member: Ints
    class_: Ints
    done: Ints
    seconds: Floats
    finished: np.ndarray
    held: np.ndarray
    taken: np.ndarray
    truth: dict[str, float]

    def reps_of_held(self) -> Ints:
        return self.done[self.held]


def scene(size: Size, seed: int, *, splits: float = 0.2) -> Scene:
    """Draw a gym. ``splits`` is the share of results that have them."""
    random = np.random.default_rng(seed)
    noise, within, level, drift, spread = 0.08, 0.03, 0.2, 0.004, 0.05
    roots, ties = {}, {}
    for number in range(size.movements):
        way = Way(f"movement {number:04d}")
        roots[way] = float(np.exp(random.normal(np.log(2.8), 0.45)))
        for option in range(size.options):
            credit = random.choice([0.6, 0.7, 0.75, 0.8, 0.85, 0.9])
            ties[Way(way.movement, f"option {option}")] = (way, float(credit))
    ways = tied(roots, ties)
    root = ways.parent < 0
    cost = ways.base + np.where(root, random.normal(0, COST_SPREAD, len(ways)), 0)
    offs = random.normal(0, TIE_SPREAD, len(ways))
    cost[~root] = cost[ways.parent[~root]] + ways.tie[~root] + offs[~root]
    movement = np.flatnonzero(root)
    option_of = {int(p): np.flatnonzero(ways.parent == p) for p in movement}

    effect = random.normal(0, spread, size.classes)
    days = np.sort(random.uniform(0, size.classes * 2.5, size.classes))
    first = random.normal(0, level, size.members)
    moves = (
        random.normal(0, 1, (size.classes, size.members))
        * drift
        * np.sqrt(np.diff(days, prepend=days[0]))[:, None]
    )
    walk = first + np.cumsum(moves, axis=0)
    # Who is weak at a movement takes its option, mostly.
    weak = random.uniform(size=(size.members, len(ways))) < 0.25

    drawn: list[Drawn] = []
    parts = []
    for number in range(size.classes):
        picked = random.choice(movement, 7, replace=False)
        ladders = [(picked[:2], random.choice([0, 1])), (picked[2:4], random.choice([0, 1]))]
        sets, reps, block = [], [], []
        for index, (names, kind) in enumerate(ladders):
            for rung in ((15, 12, 9), (21, 15, 9))[kind]:
                for name in names:
                    sets.append(name), reps.append(rung), block.append(index)
        finite = len(sets)
        amrap = random.uniform() < 0.7
        if amrap:
            for _ in range(ROUNDS):
                for name, count in zip(picked[4:], (8, 10, 6), strict=True):
                    sets.append(name), reps.append(count), block.append(2)
        usual = float(np.sum(np.array(reps[:finite]) * np.exp(ways.base[sets[:finite]])))
        cap = 30.0 * round(usual * (1.4 if amrap else 1.1) / 30)
        one = Drawn(
            float(days[number]), cap, np.array(sets), np.array(reps), np.array(block), finite
        )
        drawn.append(one)
        here = np.sort(random.choice(size.members, min(size.each, size.members), replace=False))
        scaled = weak[here][:, one.movement] & (random.uniform(size=len(here)) < 0.9)[:, None]
        way = np.where(scaled, np.array([option_of[int(m)][0] for m in one.movement]), one.movement)
        own = random.normal(0, np.sqrt(noise**2 - within**2), len(here))
        slow = walk[number, here] + effect[number] + own
        work = np.cumsum(one.reps * np.exp(cost[way]), axis=1)
        ends = 600 * np.exp(FADE * np.log(work / 600) + slow[:, None])
        last = random.normal(0, within, len(here))
        total = 600 * np.exp(FADE * np.log(work[:, -1] / 600) + slow + last)
        finished = (total <= cap) & (not amrap)
        reached = 600 * np.exp((np.log(cap / 600) - slow - last) / FADE)
        passed = np.sum(work <= reached[:, None], axis=1)
        passed = np.where(finished, len(one.reps), np.minimum(passed, len(one.reps) - 1))
        before = np.concatenate([[0.0], one.reps.cumsum()])
        at = np.minimum(passed, len(one.reps) - 1)
        index = np.arange(len(here))
        begun = np.where(at > 0, work[index, at - 1], 0.0)
        over = np.floor((reached - begun) / np.exp(cost[way[index, at]]))
        over = np.where(finished, 0, np.clip(over, 0, one.reps[at] - 1))
        done = before[passed] + over
        seconds = np.where(finished, np.round(total, 2), cap)
        told = random.uniform(size=len(here)) < splits
        parts.append(
            (number, here, way, passed, over, done, finished, seconds, told,
             [(b, np.max(np.flatnonzero(one.block == b))) for b in (0, 1)], ends,
             random.normal(0, within, (len(here), 2)))
        )  # fmt: skip

    return _rows(ways, cost, effect, walk, drawn, parts, size, {
        "noise": noise, "noise_within": within, "level": level, "drift": drift, "classes": spread,
    })  # fmt: skip


def _rows(ways, cost, effect, walk, drawn, parts, size, truth) -> Scene:
    member = np.concatenate([p[1] for p in parts])
    class_ = np.concatenate([np.full(len(p[1]), p[0]) for p in parts])
    day = np.array([d.day for d in drawn])
    order = np.lexsort((class_, day[class_], member))
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    offset = 0
    result, seconds, stop, r, c, v = [], [], [], [], [], []
    finished_all, done_all, seconds_all, taken = [], [], [], []
    row = 0
    for number, here, way, passed, over, done, finished, ended, told, blocks, ends, within in parts:
        one = drawn[number]
        for i in range(len(here)):
            at = offset + i
            for b, last in blocks:
                time = ends[i, last] * np.exp(within[i, b])
                if told[i] and passed[i] > last and 0 < time < ended[i]:
                    result.append(rank[at]), seconds.append(round(time, 2)), stop.append(-1)
                    counts = np.bincount(way[i, : last + 1], one.reps[: last + 1])
                    for k in np.flatnonzero(counts):
                        r.append(row), c.append(k), v.append(counts[k])
                    row += 1
            counts = np.bincount(
                way[i, : passed[i]], one.reps[: passed[i]], minlength=len(ways)
            ).astype(float)
            if finished[i]:
                stop.append(-1)
            else:
                stop.append(way[i, passed[i]])
                counts[way[i, passed[i]]] += over[i] + 0.5
            result.append(rank[at]), seconds.append(ended[i])
            for k in np.flatnonzero(counts):
                r.append(row), c.append(k), v.append(counts[k])
            row += 1
        taken += list(way)
        finished_all.append(finished), done_all.append(done), seconds_all.append(ended)
        offset += len(here)
    result, seconds, stop = np.array(result), np.array(seconds), np.array(stop)
    counts = sparse.csr_array((v, (r, c)), shape=(row, len(ways)))
    by = np.lexsort((seconds, result))
    held_class = np.arange(len(drawn)) >= len(drawn) - size.held
    held = held_class[class_[order]]
    keep_row = ~held[result[by]]
    renumber = np.cumsum(~held) - 1
    rows = Rows(
        members=size.members,
        classes=len(drawn),
        member=member[order][~held],
        class_=class_[order][~held],
        day=day[class_[order]][~held],
        result=renumber[result[by][keep_row]],
        seconds=seconds[by][keep_row],
        stop=stop[by][keep_row],
        counts=counts[by][keep_row],
    )
    return Scene(
        ways, cost, walk, effect, rows, drawn, member[order], class_[order],
        np.concatenate(done_all)[order].astype(int), np.concatenate(seconds_all)[order],
        np.concatenate(finished_all)[order], held, [taken[i] for i in order], truth,
    )  # fmt: skip
