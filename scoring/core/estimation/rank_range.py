"""How uncertain credits make ranks uncertain: an explanation, never another rank.

The board ranks by the coach's credits, exactly. What options have really been worth is
known from results, and not exactly. So credits are drawn from the posterior, every result
is counted again by each draw with the arithmetic of ``scoring.score``, and the middle 80 %
of the ranks that come out is a row's likely range. Results without an option keep their
score in every draw; their rank moves as others do.

Where an option isn't in the estimate yet, or nobody has used it, it is drawn around the
credit that the class counts it by.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import log

import numpy as np
from scipy import sparse

from ..prescription import CREDIT_SCALE, MAX_CREDIT
from .assumptions import TIE_SPREAD
from .estimate import Estimate, principal
from .ways import Floats, Ints, Way

DRAWS = 500
"""The ends of a range come out within a few hundredths of the share they should have."""

SHARE = 0.8
"""The share of draws that a range holds."""

_CELLS = 2_000_000
"""So many figures are held at once, whatever the size of the board."""


@dataclass(frozen=True, slots=True)
class Pair:
    """A way that was done, the way that the class wrote, and the credit it counts there."""

    way: Way
    written: Way
    credit: Fraction


@dataclass(frozen=True, slots=True, eq=False)
class Field:
    """Results of one board, those that count the same only once.

    Attributes
    ----------
    certain : (N,) ints
        What counts whatever options are worth: reps × weight × credit × ``CREDIT_SCALE``.
    parts : (N, K) sparse ints
        Reps × weight done in each of K pairs.
    seconds : (N,) ints, more than 0
        Elapsed time in hundredths.
    tie_key : (N,) ints
        Among equals the smaller stands first, see ``ranking.py``.
    count : (N,) ints
        How many results these are.
    """

    certain: Ints
    parts: sparse.csr_array
    seconds: Ints
    tie_key: Ints
    count: Ints

    def __len__(self) -> int:
        return len(self.certain)


@dataclass(frozen=True, slots=True)
class RankRange:
    """From the better to the worse rank, competition ranks from 1."""

    best: int
    worst: int


def drawn_credits(
    estimate: Estimate, pairs: Sequence[Pair], *, above_one: bool = False, draws: int = DRAWS
) -> Ints:
    """Credits of each pair, times ``CREDIT_SCALE``, as results say they could be.

    The same figures always give the same draws. As on the board none is more than 1 unless
    ``above_one``, nor more than a credit can be.

    Returns
    -------
    (draws, K) ints
    """
    size = len(pairs)
    if not size:
        return np.zeros((draws, 0), dtype=np.int64)
    middle, covariance = _held(estimate, pairs)
    text = "\n".join(f"{p.way.key}>{p.written.key}={p.credit}" for p in pairs)
    content = text.encode() + np.round(middle, 9).tobytes() + np.round(covariance, 9).tobytes()
    seed = int.from_bytes(hashlib.sha256(content).digest()[:8], "big")
    directions, spreads = principal(covariance)
    normal = np.random.default_rng(seed).standard_normal((draws, size))
    worth = np.exp(middle + (normal * spreads) @ directions.T)
    most = MAX_CREDIT if above_one else Fraction(1)
    scaled = np.rint(np.minimum(worth, float(most)) * CREDIT_SCALE)
    return np.maximum(scaled, 1).astype(np.int64)


def _held(estimate: Estimate, pairs: Sequence[Pair]) -> tuple[Floats, Floats]:
    """Mean and covariance of the pairs' log worth."""
    size, known = len(pairs), estimate.ways.positions
    middle = np.array([log(pair.credit) for pair in pairs])
    differ = np.zeros((size, len(estimate.ways)))
    own = np.zeros(size)
    for index, pair in enumerate(pairs):
        done, written = known.get(pair.way), known.get(pair.written)
        if done is None or written is None:
            own[index] = TIE_SPREAD**2
            continue
        differ[index, done] += 1
        differ[index, written] -= 1
        if estimate.used[done]:
            middle[index] = estimate.cost[done] - estimate.cost[written]
    return middle, differ @ estimate.covariance @ differ.T + np.diag(own)


def drawn_ranks(field: Field, row: Field, credits: Ints) -> Ints:
    """Rank of a row in each draw.

    Parameters
    ----------
    field
        Everybody on the board, the row included.
    row
        The one row, as a field of its own with the same pairs.
    credits : (D, K) ints
        As ``drawn_credits`` gives them.

    Returns
    -------
    (D,) ints
        1 + how many stand before it. One draw costs time in proportion to the results with
        options, however many there are without.
    """
    own = _paces(row, credits)[0]
    tie = row.tie_key[0]
    moves = np.diff(field.parts.indptr) > 0
    before = _before_still(field, ~moves, own, tie)
    listed = np.flatnonzero(moves)
    if not len(listed):
        return before + 1
    moving = Field(
        field.certain[listed], field.parts[listed], field.seconds[listed],
        field.tie_key[listed], field.count[listed],
    )  # fmt: skip
    first = moving.tie_key < tie
    step = max(1, _CELLS // len(listed))
    for start in range(0, len(credits), step):
        draw = slice(start, start + step)
        paces = _paces(moving, credits[draw])
        ahead = (paces > own[draw]) | ((paces == own[draw]) & first[:, None])
        before[draw] += moving.count @ ahead
    return before + 1


def _paces(field: Field, credits: Ints) -> Floats:
    """(N, D) credited work a second. Whole numbers over whole numbers: the same pace is the
    same float however it comes about."""
    credited = field.certain[:, None] + np.asarray(field.parts @ credits.T)
    paces: Floats = credited / field.seconds[:, None]
    return paces


def _before_still(field: Field, still: np.ndarray, own: Floats, tie: int) -> Ints:
    """How many of those whose score never moves stand before a row, in each draw."""
    pace = field.certain[still] / field.seconds[still]
    count, ties = field.count[still], field.tie_key[still]
    values, group = np.unique(pace, return_inverse=True)
    size = len(values)
    totals = np.bincount(group, weights=count, minlength=size)
    first = np.bincount(group, weights=count * (ties < tie), minlength=size)
    over = np.concatenate([np.cumsum(totals[::-1])[::-1], [0.0]])
    right = np.searchsorted(values, own, side="right")
    left = np.searchsorted(values, own, side="left")
    level = np.concatenate([first, [0.0]])[left] * (left < right)
    ranks: Ints = (over[right] + level).astype(np.int64)
    return ranks


def middle_ranks(ranks: Ints, share: float = SHARE) -> RankRange:
    """The middle ``share`` of drawn ranks: no more than half the rest lies on either side."""
    low, high = np.quantile(ranks, [(1 - share) / 2, (1 + share) / 2], method="inverted_cdf")
    return RankRange(int(low), int(high))


def with_rank(found: RankRange, rank: int) -> RankRange:
    """The range out to the rank that the board gives, which is never told to be wrong: where
    results speak for another credit, a coach is told so and decides."""
    return RankRange(min(found.best, rank), max(found.worst, rank))


def told(rank: int, best: int, worst: int) -> str:
    """A rank with its likely range, which holds it, in plain words."""
    if best == worst:
        return f"Rank {rank}. Whatever the options are really worth, most likely {rank} as well."
    return (
        f"Rank {rank}. Results so far tell only roughly what the options are worth: allowing for "
        f"that, between {best} and {worst}."
    )


EXPLAINED = (
    "The rank counts by the credits of this class, and stays. This says how far it could lie from "
    "that if the options were counted by what they have been worth: four times in five no further."
)
