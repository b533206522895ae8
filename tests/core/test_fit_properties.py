"""What holds for any fit: its derivatives, and that names and order are of no account."""

import os
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from scipy import sparse

from bench.estimator_scene import Size, scene
from scoring.core.estimation.assumptions import LEAST_NOISE
from scoring.core.estimation.curvature import curvature
from scoring.core.estimation.estimate import Spreads
from scoring.core.estimation.fit import fit
from scoring.core.estimation.objective import point
from scoring.core.estimation.packing import packed
from scoring.core.estimation.problem import problem
from scoring.core.estimation.rows import Rows
from scoring.core.estimation.ways import Way, Ways, tied

GYM = Size(members=14, classes=9, each=8, movements=8)
SPREADS = Spreads(noise=0.1, noise_within=0.04, level=0.2, drift=0.004, classes=0.06, fade=1.04)


@pytest.fixture(scope="module")
def gym():
    """Splits, finished and unfinished results; two classes fall on one day."""
    made = scene(GYM, 3, splits=0.6)
    day = np.where(made.rows.class_ == 4, made.classes[5].day, made.rows.day)
    rows = sorted_rows(replace(made.rows, day=day))
    assert len(rows.seconds) > len(rows) and 0 < np.mean(rows.stop < 0) < 1
    finals = np.append(np.flatnonzero(np.diff(rows.result)), len(rows.seconds) - 1)
    assert {True, False} == set((rows.stop[finals] < 0).tolist())
    return made.ways, rows


def sorted_rows(rows: Rows) -> Rows:
    """Put in the order that ``rows.py`` asks for."""
    order = np.lexsort((rows.class_, rows.day, rows.member))
    place = np.argsort(order)
    by = np.lexsort((rows.seconds, place[rows.result]))
    return replace(
        rows,
        member=rows.member[order],
        class_=rows.class_[order],
        day=rows.day[order],
        result=place[rows.result[by]],
        seconds=rows.seconds[by],
        stop=rows.stop[by],
        counts=sparse.csr_array(rows.counts[by]),
    )


def somewhere(ways, told, seed):
    """Trust, costs and effects that are no best fit."""
    random = np.random.default_rng(seed)
    return (
        random.uniform(0.3, 1, len(told)),
        ways.base + random.normal(0, 0.2, len(ways)),
        random.normal(0, 0.1, told.classes),
    )


@pytest.mark.parametrize("seed", range(3))
def test_slope_and_curvature_are_the_derivatives(gym, seed):
    """Against central differences, at places far from the best fit."""
    ways, rows = gym
    told = problem(ways, rows)
    trust, cost, effect = somewhere(ways, told, seed)
    precision = ways.prior_precision()
    size = len(ways)

    def at(figures):
        return point(told, SPREADS, trust, figures[:size], figures[size:], precision)

    here = np.concatenate([cost, effect])
    step = 1e-5
    moves = step * np.eye(len(here))
    up, down = [at(here + move) for move in moves], [at(here - move) for move in moves]
    by_loss = [(a.loss - b.loss) / (2 * step) for a, b in zip(up, down, strict=True)]
    by_slope = [(a.slope - b.slope) / (2 * step) for a, b in zip(up, down, strict=True)]
    exact = at(here)
    assert exact.slope == pytest.approx(np.array(by_loss), rel=1e-5, abs=1e-4)
    bend = curvature(told, SPREADS, exact, precision)
    assert bend == pytest.approx(np.array(by_slope), rel=1e-6, abs=1e-4)


def test_the_same_input_gives_the_same_bytes(gym):
    ways, rows = gym
    assert packed(fit(ways, rows)) == packed(fit(ways, rows))


LARGER = """
import hashlib
import gymsite
from bench.estimator_scene import Size, scene
from scoring.core.estimation.fit import fit
from scoring.core.estimation.packing import packed
made = scene(Size(members=150, classes=50, each=25, movements=50), 1)
print(hashlib.sha256(packed(fit(made.ways, made.rows))).hexdigest())
"""


def test_however_many_threads_a_machine_offers_the_bytes_are_the_same():
    """In the product's processes; sums shared by two threads round otherwise."""
    told = [
        subprocess.run(
            [sys.executable, "-c", LARGER],
            env={**os.environ, "OPENBLAS_NUM_THREADS": threads},
            capture_output=True, text=True, check=True,
        ).stdout
        for threads in ("1", "2")
    ]  # fmt: skip
    assert told[0] and told[0] == told[1]


def shuffled(ways: Ways, rows: Rows, seed: int):
    """The same gym under other names; which member, class and way is which."""
    random = np.random.default_rng(seed)
    member, class_ = random.permutation(rows.members), random.permutation(rows.classes)
    way = random.permutation(len(ways))
    back = np.argsort(way)
    parent = ways.parent[back]
    other = Ways(
        tuple(Way(f"way {number:03d}") for number in range(len(ways))),
        ways.base[back],
        np.where(parent < 0, -1, way[parent]),
        ways.tie[back],
    )
    return (
        other,
        sorted_rows(
            replace(
                rows,
                member=member[rows.member],
                class_=class_[rows.class_],
                stop=np.where(rows.stop < 0, -1, way[rows.stop]),
                counts=sparse.csr_array(rows.counts[:, back]),
            )
        ),
        (member, class_, way),
    )


def test_the_model_knows_no_names_and_no_order(gym):
    """At the same figures loss and slope are the same but for the last digits of sums."""
    ways, rows = gym
    other_ways, other_rows, (_, class_, way) = shuffled(ways, rows, 5)
    told, other = problem(ways, rows), problem(other_ways, other_rows)
    _, cost, effect = somewhere(ways, told, 1)
    trust = np.ones(len(told))
    one = point(told, SPREADS, trust, cost, effect, ways.prior_precision())
    back = np.argsort(way), np.argsort(class_)
    two = point(other, SPREADS, trust, cost[back[0]], effect[back[1]], other_ways.prior_precision())
    assert two.loss == pytest.approx(one.loss, rel=1e-12)
    places = np.concatenate([way, len(ways) + class_])
    assert two.slope[places] == pytest.approx(one.slope, abs=1e-9)


def test_a_fit_under_other_names_is_the_same_fit(gym):
    """Spreads are looked for numerically, so figures differ in the sixth digit."""
    ways, rows = gym
    other_ways, other_rows, (member, class_, way) = shuffled(ways, rows, 5)
    one, other = fit(ways, rows), fit(other_ways, other_rows)
    assert one.convergence.converged and other.convergence.converged
    close = {"abs": 1e-5}
    assert other.cost[way] == pytest.approx(one.cost, **close)
    assert other.covariance[np.ix_(way, way)] == pytest.approx(one.covariance, **close)
    assert other.used[way].tolist() == one.used.tolist()
    assert other.effect[class_] == pytest.approx(one.effect, **close)
    assert other.effect_variance[class_] == pytest.approx(one.effect_variance, **close)
    for number in range(rows.members):
        here = slice(*one.levels.start[number : number + 2])
        there = slice(*other.levels.start[member[number] : member[number] + 2])
        for name in ("day", "mean", "variance", "gain", "results"):
            expected = getattr(one.levels, name)[here]
            assert getattr(other.levels, name)[there] == pytest.approx(expected, **close)
        # The sign and order of directions are free where widths are alike: lengths are not.
        length = np.linalg.norm(one.levels.lean[number])
        assert np.linalg.norm(other.levels.lean[member[number]]) == pytest.approx(length, **close)
    # Each result's surprise, found again by its member, class and place.
    assert np.sort(other.expected) == pytest.approx(np.sort(one.expected), abs=1e-5)


def test_results_all_alike_are_not_believed_without_bound():
    """Nine members who do the very same in nine classes: noise stops at its least, and the
    fit comes to rest."""
    ways = tied({Way("step up"): 2.5}, {})
    member, class_ = (part.ravel() for part in np.meshgrid(range(9), range(9), indexing="ij"))
    rows = Rows(
        members=9,
        classes=9,
        member=member,
        class_=class_,
        day=7.0 * class_,
        result=np.arange(81),
        seconds=np.full(81, 600.0),
        stop=np.zeros(81, np.int64),
        counts=sparse.csr_array(np.full((81, 1), 200.5)),
    )
    got = fit(ways, rows)
    assert got.convergence.converged
    assert got.spreads.noise == pytest.approx(LEAST_NOISE)
    assert np.sqrt(got.covariance[0, 0]) > LEAST_NOISE
