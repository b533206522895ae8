"""Members' levels with all that is uncertain about them, costs and classes included."""

from __future__ import annotations

import numpy as np
from scipy import sparse
from scipy.sparse import linalg

from .curvature import block_diagonal, blocks, design
from .estimate import LevelPaths, Spreads, principal
from .objective import Point, noise_of
from .problem import Problem
from .spreads import LARGE
from .surprise import own_surprise
from .ways import Floats, Ints

DIRECTIONS = 24
"""How many leading directions of the costs' covariance are kept with each level."""


def paths(
    whole: Problem, spreads: Spreads, at: Point, covariance: Floats
) -> tuple[LevelPaths, Floats]:
    """Levels at every state, and by how much each result surprises, (N,).

    ``covariance`` (P + C, P + C) is of costs and class effects. A level given these has the
    smoother's variance; that they are uncertain themselves adds G Cov Gᵀ, where
    G = K V⁻¹ A says how the level moves with them. In very large problems their covariance is
    taken as its leading directions and a diagonal.
    """
    ways = len(whole.ways)
    directions, widths = principal(covariance[:ways, :ways])
    kept = int(np.count_nonzero(widths[:DIRECTIONS] > 0))
    scores = covariance[:, :ways] @ (directions[:, :kept] / widths[:kept])
    extra = np.zeros(len(whole.day))
    last = whole.walks.start[1:] - 1
    members = len(last)
    lean = np.zeros((members, kept))
    told = design(whole, spreads, at)
    nearly = _nearly(covariance) if len(covariance) > LARGE else None
    # Of a member's states the last result on each day stands for the day.
    day_end = np.append(np.flatnonzero(np.diff(whole.state)), len(whole) - 1)
    final = np.zeros(len(whole), dtype=bool)
    if len(whole):
        final[day_end] = True
    member_of = np.repeat(np.arange(members), np.diff(whole.results_start()))
    for positions, levels in blocks(whole, at):
        flat = positions.ravel()
        by_told = levels / at.noise[positions][:, None, :]
        moves = sparse.csr_array(block_diagonal(by_told) @ told[flat])
        stands = final[flat]
        own = moves[stands]
        extra[whole.state[flat[stands]]] = (
            _quadratic(own, covariance, member_of[flat[stands]])
            if nearly is None
            else ((own @ nearly[0]) ** 2).sum(axis=1) + own.power(2) @ nearly[1]
        )
        ends = moves[np.arange(len(positions)) * positions.shape[1] + positions.shape[1] - 1]
        lean[member_of[positions[:, 0]]] = -(ends @ scores)
    smoothed = at.levels
    results = np.bincount(whole.state, minlength=len(whole.day)).astype(np.int64)
    return (
        LevelPaths(
            start=whole.walks.start,
            day=whole.day,
            mean=smoothed.mean,
            variance=smoothed.variance + extra,
            gain=smoothed.gain,
            results=results,
            lean=lean,
        ),
        own_surprise(whole, at, noise_of(whole, spreads, np.ones(len(whole)))),
    )


def _quadratic(moves: sparse.csr_array, covariance: Floats, member: Ints) -> Floats:
    """Diagonal of moves · covariance · movesᵀ, a member at a time: each has few figures."""
    found = np.empty(moves.shape[0])
    starts = np.flatnonzero(np.concatenate([[True], member[1:] != member[:-1]]))
    ends = np.append(starts[1:], len(member))
    where = np.zeros(moves.shape[1], dtype=np.int64)
    for begin, end in zip(starts.tolist(), ends.tolist(), strict=True):
        part = slice(moves.indptr[begin], moves.indptr[end])
        columns = np.unique(moves.indices[part])
        where[columns] = np.arange(len(columns))
        dense = np.zeros((end - begin, len(columns)))
        row = np.repeat(np.arange(end - begin), np.diff(moves.indptr[begin : end + 1]))
        dense[row, where[moves.indices[part]]] = moves.data[part]
        found[begin:end] = np.einsum(
            "ij,ij->i", dense @ covariance[np.ix_(columns, columns)], dense
        )
    return found


def _nearly(covariance: Floats) -> tuple[Floats, Floats]:
    """A large covariance as its leading directions, scaled, and a diagonal for the rest."""
    size = len(covariance)
    first = np.ones(size) / np.sqrt(size)  # a start of its own would differ from run to run
    values, vectors = linalg.eigsh(covariance, k=DIRECTIONS, v0=first)
    leading = vectors * np.sqrt(np.clip(values, 0, None))
    return leading, np.clip(np.diag(covariance) - (leading**2).sum(axis=1), 0, None)
