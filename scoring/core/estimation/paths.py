"""Members' levels with all that is uncertain about them, costs and classes included."""

from __future__ import annotations

import numpy as np
from scipy import sparse
from scipy.sparse import linalg

from .curvature import block_diagonal, blocks, design
from .estimate import LevelPaths, Spreads, principal
from .filtering import Smoothed, Walks
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
    extra, with_last = np.zeros(len(whole.day)), np.zeros(len(whole.day))
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
        states = whole.state[flat[stands]]
        people = member_of[flat[stands]]
        extra[states], with_last[states] = (
            _quadratic(own, covariance, people)
            if nearly is None
            else _nearly_quadratic(own, nearly, people)
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
            with_last=_with_last(whole.walks, smoothed) + with_last,
            results=results,
            lean=lean,
        ),
        own_surprise(whole, at, noise_of(whole, spreads, np.ones(len(whole)))),
    )


def _with_last(walks: Walks, smoothed: Smoothed) -> Floats:
    """Covariance of each state with the last one of its walk, costs and classes given."""
    found = smoothed.variance.copy()
    for after in reversed(walks.steps()[1:]):
        found[after - 1] = smoothed.gain[after - 1] * found[after]
    return found


def _quadratic(moves: sparse.csr_array, covariance: Floats, member: Ints) -> tuple[Floats, Floats]:
    """Diagonal of moves · covariance · movesᵀ, and its entries with the last of each member's
    rows; a member at a time, since each has few figures."""
    found, last = np.empty(moves.shape[0]), np.empty(moves.shape[0])
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
        spread = dense @ covariance[np.ix_(columns, columns)]
        found[begin:end] = np.einsum("ij,ij->i", spread, dense)
        last[begin:end] = spread @ dense[-1]
    return found, last


def _nearly(covariance: Floats) -> tuple[Floats, Floats]:
    """A large covariance as its leading directions, scaled, and a diagonal for the rest."""
    size = len(covariance)
    first = np.ones(size) / np.sqrt(size)  # a start of its own would differ from run to run
    values, vectors = linalg.eigsh(covariance, k=DIRECTIONS, v0=first)
    leading = vectors * np.sqrt(np.clip(values, 0, None))
    return leading, np.clip(np.diag(covariance) - (leading**2).sum(axis=1), 0, None)


def _nearly_quadratic(
    moves: sparse.csr_array, nearly: tuple[Floats, Floats], member: Ints
) -> tuple[Floats, Floats]:
    """As ``_quadratic``, of a large covariance as ``_nearly`` gives it."""
    leading, rest = nearly
    ends = np.flatnonzero(np.concatenate([member[1:] != member[:-1], [True]]))
    last = np.repeat(ends, np.diff(ends, prepend=-1))
    along = moves @ leading
    found = (along**2).sum(axis=1) + moves.power(2) @ rest
    return found, (along * along[last]).sum(axis=1) + moves.multiply(moves[last]) @ rest
