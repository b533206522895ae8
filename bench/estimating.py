"""Fits from ten thousand results to a million, each in a process of its own for its memory."""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
from dataclasses import asdict, dataclass
from time import perf_counter

import numpy as np
from scipy import sparse

from scoring.core.estimation.assumptions import FADE, NOISE
from scoring.core.estimation.fit import fit
from scoring.core.estimation.rows import Rows
from scoring.core.estimation.ways import Floats, Way, Ways, tied

from .report import Report


@dataclass(frozen=True, slots=True)
class Load:
    """How much there is to fit; half of the ways are movements, half their options."""

    results: int
    members: int
    classes: int
    ways: int


LOADS = (
    Load(10_000, 500, 50, 100),
    Load(100_000, 5_000, 500, 300),
    Load(1_000_000, 50_000, 5_000, 1_000),
)
SECONDS, GIGABYTES = 120, 4


def drawn(load: Load, seed: int = 1) -> tuple[Ways, Rows, Floats]:
    """Results drawn from the model: five movements a class, a quarter of members scaled."""
    random = np.random.default_rng(seed)
    half = load.ways // 2
    movements = [Way(f"movement {number:04d}") for number in range(half)]
    ways = tied(
        {way: float(np.exp(random.normal(1, 0.45))) for way in movements},
        {Way(way.movement, "easier"): (way, 0.8) for way in movements},
    )
    cost = ways.base + random.normal(0, 0.2, len(ways))
    tied_to = np.flatnonzero(ways.parent >= 0)
    easier = np.zeros(len(ways), dtype=np.int64)
    easier[ways.parent[tied_to]] = tied_to
    each = load.results // load.classes
    class_ = np.repeat(np.arange(load.classes), each)
    member = np.concatenate(
        [random.choice(load.members, each, replace=False) for _ in range(load.classes)]
    )
    order = np.lexsort((class_, member))
    member, class_ = member[order], class_[order]
    roots = np.flatnonzero(ways.parent < 0)
    picked = np.array([random.choice(roots, 5, replace=False) for _ in range(load.classes)])
    way = picked[class_]
    way = np.where(random.random(way.shape) < 0.25, easier[way], way)
    slow = random.normal(0, 0.2, load.members)[member]
    slow += random.normal(0, 0.05, load.classes)[class_] + random.normal(0, NOISE, len(member))
    seconds = random.choice([600.0, 900.0, 1200.0], load.classes)[class_]
    work = 600 * np.exp((np.log(seconds / 600) - slow) / FADE)
    shares = random.dirichlet(np.full(5, 8.0), size=len(member))
    counts = shares * work[:, None] / np.exp(cost[way])
    total = len(member)
    rows = Rows(
        members=load.members,
        classes=load.classes,
        member=member,
        class_=class_,
        day=class_ * 0.5,
        result=np.arange(total),
        seconds=seconds,
        stop=way[np.arange(total), random.integers(0, 5, total)],
        counts=sparse.csr_array(
            (counts.ravel(), way.ravel(), np.arange(total + 1) * 5), shape=(total, len(ways))
        ),
    )
    return ways, rows, cost


def alone(load: Load) -> dict[str, float]:
    """Fit in this process; seconds, the process's greatest memory, steps."""
    ways, rows, cost = drawn(load)
    began = perf_counter()
    found = fit(ways, rows)
    return {
        "seconds": perf_counter() - began,
        "gigabytes": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20,
        "steps": found.convergence.iterations,
        "converged": found.convergence.converged,
        "error": float(np.sqrt(np.mean((found.cost - cost) ** 2))),
    }


def measure(report: Report) -> None:
    """Add a line for every size, and how each grows."""
    report.head(
        "Estimates. All results are fitted at once; the aim is that of a million results "
        f"(50,000 members, 5,000 classes, 1,000 ways): {SECONDS} s and {GIGABYTES} GB on two cores."
    )
    before: dict[str, float] | None = None
    for load in LOADS:
        asked = [sys.executable, "-m", "bench.estimating", json.dumps(asdict(load))]
        # As in the product's processes: sums of one thread are the same on any machine.
        own = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
        told = subprocess.run(asked, check=True, capture_output=True, text=True, env=own)
        got = json.loads(told.stdout)
        largest = load is LOADS[-1]
        name = f"fit of {load.results:,} results"
        report.add(name, got["seconds"], "s", aim=SECONDS if largest else None)
        report.add(f"{name}: memory", got["gigabytes"], "GB", aim=GIGABYTES if largest else None)
        rested = "steps" if got["converged"] else "steps, NOT AT REST"
        report.add(f"{name}: to rest", got["steps"], rested)
        report.add(f"{name}: error of costs", got["error"], "RMS of logs")
        if before is not None:
            report.add(
                f"{name}: time, ten times the results", got["seconds"] / before["seconds"], "×"
            )
            report.add(
                f"{name}: memory, ten times the results",
                got["gigabytes"] / before["gigabytes"],
                "×",
            )
        before = got


if __name__ == "__main__":
    print(json.dumps(alone(Load(**json.loads(sys.argv[1])))))
