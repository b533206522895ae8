"""Marks that are all but impossible, for their member or for anybody.

For a result with elapsed time E and work W the model says

    log(E / 600) = γ · log(W / 600) + u + c + ε

so ``d = log(E / 600) - γ · log(W / 600) - u`` should be what is common to its class, give or
take how uncertain the member's level, the costs and one result are. How many standard
deviations ``d`` lies from that is the mark's ``z``.

What is common to a class (the day, a clock that ran short, a movement whose cost was wrong)
is no oddity of any one of its marks. So it is learned from the others of the class, by their
median, which one odd mark can't move: with n others of variance v the median has variance
``π / 2 · v / n`` (of a normal sample; Kenney and Keeping 1962, Mathematics of Statistics,
part 1, section 13.13, from memory), and it is shrunk toward what was held of the class before.
The level and the costs are taken as independent. They lean against each other, so together
they vary less than that; ``z`` comes out a little small, and rather too little is asked.

Nobody at all is that fast where a mark, or a part of it between two known times, would need
somebody faster than the fastest level on record by ``IMPOSSIBLE`` standard deviations, and
faster than ``FASTEST`` times the spread of levels where the record is slow or short. The same
formula holds for a part: it lets a part be done as if it were the whole workout, so in doubt
nothing is asked. It asks of the sum of a part, never of a single rep: a rep of a movement
whose figure is too high would be called impossible though nobody could tell.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from .assumptions import IMPOSSIBLE, REFERENCE_SECONDS
from .drawn import standing
from .estimate import Estimate
from .gather import Gathered
from .ways import Floats, Ints, Way, Ways

LEAST_OTHERS = 4
"""So many others make a class's middle; with fewer only what was held before counts."""

FASTEST = 2.0
"""Somebody twice the spread of levels faster than the middle is plausible anywhere: of normal
levels one in 44 is."""


@dataclass(frozen=True, slots=True, eq=False)
class Marks:
    """Results of one class.

    Attributes
    ----------
    mean, variance : (N,) floats
        Log slowness of each member that day, and how uncertain.
    seconds : (N,) floats, more than 0
        Elapsed time less the rests passed.
    used : (Q,) ints, rising
        Positions in the estimate of the ways that the class used.
    counts : (N, Q) floats
        Units done of each of those; of a rep under way when the clock stopped a half.
    under_way : (N,) floats
        Seconds of work in the rep under way when the clock stopped; 0 for a finish.
    """

    mean: Floats
    variance: Floats
    seconds: Floats
    used: Ints
    counts: Floats
    under_way: Floats

    def __len__(self) -> int:
        return len(self.seconds)


def marks_of(
    estimate: Estimate, gathered: Gathered, members: Ints, day: float, width: Mapping[Way, float]
) -> tuple[Marks, Ints]:
    """Marks of one class, for those of its results that tell of pace.

    Parameters
    ----------
    estimate
        With all of the class's ways in it.
    gathered
        The class alone.
    members : ints
        Where the estimate has each of ``gathered.members``, -1 for one without results.
    day
        When, in the days of the estimate's results.
    width
        Units in one raw rep of a way, as the metres of a run, where that isn't 1.

    Returns
    -------
    marks
    results : (N,) ints
        Position of each mark among ``gathered.results``.
    """
    rows = gathered.rows
    ends = np.flatnonzero(np.diff(rows.result, append=-1) != 0)
    results = rows.result[ends]
    held = standing(estimate, members[rows.member[results]], day)
    at = _positions(gathered.ways, estimate.ways)
    counts = rows.counts[ends].tocoo()
    used, column = np.unique(at[counts.coords[1]], return_inverse=True)
    done = np.zeros((len(ends), len(used)))
    done[counts.coords[0], column] = counts.data
    stop = rows.stop[ends]
    units = np.array([width.get(way, 1.0) for way in gathered.ways.ways])
    under_way = np.zeros(len(ends))
    stopped = stop >= 0
    under_way[stopped] = units[stop[stopped]] * np.exp(estimate.cost[at[stop[stopped]]])
    return (
        Marks(
            mean=held.mean,
            variance=held.variance,
            seconds=rows.seconds[ends],
            used=used,
            counts=done,
            under_way=under_way,
        ),
        results,
    )


def _positions(ways: Ways, of: Ways) -> Ints:
    positions = of.positions
    return np.array([positions[way] for way in ways.ways], dtype=np.int64)


@dataclass(frozen=True, slots=True, eq=False)
class Surprise:
    """What each mark of a class is against what was to be expected.

    Attributes
    ----------
    z : (N,) floats
        Standard deviations above it (below 0: faster); ``nan`` where no rep was done.
    excess : (N,) floats
        The same in log time: 0.7 took twice as long as expected.
    slowness, spread : (N,) floats
        What was expected of a member in this class, in log time, and its standard deviation.
    common : (float, float)
        What one more mark of the class would be told was common to it, in log time, and its
        variance; ``None`` where too few marks say so.
    """

    z: Floats
    excess: Floats
    slowness: Floats
    spread: Floats
    common: tuple[float, float] | None = None

    @property
    def odd(self) -> Ints:
        """Positions of the marks that are all but impossible for their member."""
        far = np.abs(np.nan_to_num(self.z)) > IMPOSSIBLE
        return np.flatnonzero(far).astype(np.int64)


def surprises(
    estimate: Estimate, marks: Marks, *, effect: float = 0.0, effect_variance: float | None = None
) -> Surprise:
    """Compare each mark of a class with what the rest says of it.

    Parameters
    ----------
    effect, effect_variance
        What was common to the class, where the estimate knows it.
    """
    spreads = estimate.spreads
    size = len(marks)
    held = spreads.classes**2 if effect_variance is None else effect_variance
    work, share, covariance = _work(estimate, marks)
    done = work > 0
    result = np.full(size, np.nan)
    shift, shared = np.full(size, effect), np.full(size, held)
    own = marks.variance + spreads.noise**2
    shared_by_all = None
    if done.any():
        paces = np.log(marks.seconds / REFERENCE_SECONDS)
        paces = paces - spreads.fade * np.log(np.where(done, work, 1.0) / REFERENCE_SECONDS)
        common = share[done].mean(axis=0)
        fade2 = spreads.fade**2
        held += fade2 * float(common @ covariance @ common)
        apart = np.where(done[:, None], share - common, 0.0)
        own = own + fade2 * ((apart @ covariance) * apart).sum(axis=1)
        # Where in the rep under way the clock stopped: even over its width.
        own = own + (spreads.fade * marks.under_way / np.where(done, work, 1.0)) ** 2 / 12
        off = paces - marks.mean - effect
        middle, variance = _others(off, own, done)
        gain = held / (held + variance)
        shift = effect + gain * middle
        shared = gain * np.where(np.isfinite(variance), variance, 0.0)
        shared = np.where(np.isfinite(variance), shared, held)
        result = np.where(done, paces - marks.mean - shift, np.nan)
        shared_by_all = _of_one_more(off[done], own[done], effect, held)
    spread = np.sqrt(own + shared)
    return Surprise(result / spread, result, marks.mean + shift, spread, shared_by_all)


def _of_one_more(
    off: Floats, own: Floats, effect: float, held: float
) -> tuple[float, float] | None:
    """What is common to a class for a mark that isn't among these (n,): as for one of them, but
    with all of them as the others."""
    count = len(off)
    if count < LEAST_OTHERS:
        return None
    variance = np.pi / 2 * float(own.sum()) / count / count
    gain = held / (held + variance)
    return effect + gain * float(np.median(off)), gain * variance


def _work(estimate: Estimate, marks: Marks) -> tuple[Floats, Floats, Floats]:
    """Work in seconds of the typical member (N,), the share in it (N, Q) of each of the Q ways
    that the class used, and the covariance of those."""
    used = marks.used
    by_way = marks.counts * np.exp(estimate.cost[used])
    work: Floats = by_way.sum(axis=1)
    share = by_way / np.where(work > 0, work, 1.0)[:, None]
    return work, share, estimate.covariance[np.ix_(used, used)]


def _others(off: Floats, own: Floats, done: np.ndarray) -> tuple[Floats, Floats]:
    """The median of all the others, and its variance: infinite where they are too few."""
    size = len(off)
    listed = np.flatnonzero(done)
    middle, variance = np.zeros(size), np.full(size, np.inf)
    count = len(listed) - 1
    if count < LEAST_OTHERS:
        return middle, variance
    order = listed[np.argsort(off[listed], kind="stable")]
    ranked = off[order]
    place = np.arange(len(order))

    def without(position: int) -> Floats:
        """The value at a position among the others, for each one left out."""
        return np.asarray(ranked[np.where(position < place, position, position + 1)])

    low, high = (count - 1) // 2, count // 2
    middle[order] = (without(low) + without(high)) / 2
    total = own[listed].sum()
    variance[listed] = np.pi / 2 * (total - own[listed]) / count / count
    return middle, variance


def fastest(estimate: Estimate) -> tuple[float, float]:
    """The log slowness nobody is known to be under, and its variance."""
    levels, spreads = estimate.levels, estimate.spreads
    bound = -FASTEST * spreads.level
    if not len(levels.mean):
        return bound, 0.0
    best = int(np.argmin(levels.mean))
    if levels.mean[best] < bound:
        return float(levels.mean[best]), float(levels.variance[best])
    return bound, 0.0


def quickest_seconds(estimate: Estimate, done: Mapping[int, float]) -> float:
    """The seconds under which nobody does so many units of the ways at some positions; 0 for
    nothing."""
    known = [(position, units) for position, units in done.items() if units]
    if not known:
        return 0.0
    at = np.array([position for position, _ in known])
    by_way = np.array([units for _, units in known]) * np.exp(estimate.cost[at])
    work = float(by_way.sum())
    share = by_way / work
    spreads = estimate.spreads
    record, variance = fastest(estimate)
    variance += spreads.noise**2 + spreads.classes**2
    variance += spreads.fade**2 * float(share @ estimate.covariance[np.ix_(at, at)] @ share)
    slowness = record - IMPOSSIBLE * float(np.sqrt(variance))
    return REFERENCE_SECONDS * float(
        np.exp(spreads.fade * np.log(work / REFERENCE_SECONDS) + slowness)
    )
