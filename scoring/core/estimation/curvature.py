"""How sharply the fit is pinned down: second derivatives, with members' levels integrated out.

With V the covariance of a member's results (level, drift and noise), everything a member
tells of costs and classes is AᵀV⁻¹A. V is a small block a member, so members with equally
many results go together and nothing larger than ways and classes ever stands in full.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from itertools import islice

import numpy as np
from scipy import linalg, sparse

from .estimate import Spreads
from .objective import Point
from .problem import Problem
from .ways import Floats, Ints

ENTRIES = 3_000_000
"""Entries of V⁻¹ held at once: memory stays bounded however many results there are."""

AT_ONCE = 2
"""Parts worked on side by side."""


def design(problem: Problem, spreads: Spreads, at: Point) -> sparse.csr_array:
    """(N, P + C): how much a result's expected log time grows with each figure."""
    size = len(problem)
    classes = sparse.csr_array(
        (np.ones(size), problem.class_, np.arange(size + 1)), shape=(size, problem.classes)
    )
    return sparse.csr_array(sparse.hstack([spreads.fade * at.told.level_shares, classes]))


def blocks(problem: Problem, at: Point) -> Iterator[tuple[Ints, Floats]]:
    """Members' results in batches of equally many: positions (B, n), and the covariance
    (B, n, n) of the levels behind them, costs and effects given.

    With P the latter and N the noise, V⁻¹ = N⁻¹ - N⁻¹ P N⁻¹ and the levels move with what is
    told by P N⁻¹, so no matrix is inverted.
    """
    starts = problem.results_start()
    lengths = np.diff(starts)
    gain, variance = at.levels.gain, at.levels.variance
    fall = np.cumsum(np.log(np.where(gain > 0, gain, 1.0)))  # 0 is at a walk's end alone
    fall = np.concatenate([[0.0], fall[:-1]])[problem.state]
    spread = variance[problem.state]
    for length in np.unique(lengths[lengths > 0]):
        members = np.flatnonzero(lengths == length)
        batch = max(1, ENTRIES // int(length) ** 2)
        later = np.maximum.outer(np.arange(length), np.arange(length))
        for begin in range(0, len(members), batch):
            own = starts[members[begin : begin + batch]]
            where = own[:, None] + np.arange(length)
            gone = fall[where]
            apart = np.abs(gone[:, :, None] - gone[:, None, :])
            yield where, np.exp(-apart) * spread[where][:, later]


def block_diagonal(batch: Floats) -> sparse.csr_array:
    """Square blocks (B, n, n) along the diagonal of one sparse matrix."""
    count, size = batch.shape[:2]
    columns = np.arange(count * size).reshape(count, 1, size)
    indices = np.broadcast_to(columns, batch.shape).ravel()
    starts = np.arange(count * size + 1) * size
    return sparse.csr_array((batch.ravel(), indices, starts), shape=(count * size,) * 2)


def gram(problem: Problem, at: Point, told: sparse.csr_array) -> Floats:
    """AᵀV⁻¹A, (P + C, P + C), for the design A.

    Parts are worked on side by side and added in their order, so that the sum is the same
    to the last digit however they take turns.
    """
    size = told.shape[1]
    total = np.zeros((size, size))
    parts = _parts(problem, at)
    with ThreadPoolExecutor(AT_ONCE) as pool:
        while batch := list(islice(parts, AT_ONCE)):
            for got in pool.map(partial(_told_by, told), batch):
                total += got.toarray()
    return total


def _parts(problem: Problem, at: Point) -> Iterator[list[tuple[Ints, sparse.csr_array]]]:
    """V⁻¹ in pieces of about ``ENTRIES``: few large sums cost less than many small ones."""
    held: list[tuple[Ints, sparse.csr_array]] = []
    entries = 0
    for where, levels in blocks(problem, at):
        weight = 1 / at.noise[where]
        inverse = -weight[:, :, None] * levels * weight[:, None, :]
        diagonal = np.arange(where.shape[1])
        inverse[:, diagonal, diagonal] += weight
        held.append((where.ravel(), block_diagonal(inverse)))
        entries += inverse.size
        if entries >= ENTRIES:
            yield held
            held, entries = [], 0
    if held:
        yield held


def _told_by(told: sparse.csr_array, part: list[tuple[Ints, sparse.csr_array]]) -> sparse.csr_array:
    """What some members add."""
    rows = told[np.concatenate([at for at, _ in part])]
    inverse = sparse.block_diag([block for _, block in part], format="csr")
    across = sparse.csr_array(rows.T)  # turned here, where it is small
    return sparse.csr_array(across @ (inverse @ rows))


def curvature(
    problem: Problem, spreads: Spreads, at: Point, precision: Floats, *, exact: bool = True
) -> Floats:
    """Second derivatives of the loss, (P + C, P + C).

    With ``exact`` the bend of log W itself counts, the Jacobian term's included: without it
    the posterior of costs is too narrow. It may then not be positive definite far from the
    best fit; without it, it always is.
    """
    ways = len(problem.ways)
    total = gram(problem, at, design(problem, spreads, at))
    costs = total[:ways, :ways]
    costs += precision
    effects = np.arange(ways, ways + problem.classes)
    total[effects, effects] += spreads.classes**-2
    if not len(problem):
        return total
    shares = at.told.shares
    if problem.has_splits:
        within = spreads.noise_within**2
        shape = shares - sparse.csr_array(at.told.level_shares)[problem.of_row]
        believed = sparse.diags_array(at.trust[problem.of_row])
        across = sparse.csr_array(shape.T)
        costs += spreads.fade**2 / within * (across @ (believed @ shape)).toarray()
    weight = (problem.stop >= 0).astype(float)
    weight -= spreads.fade * (at.left / problem.per_result)[problem.of_row]
    if problem.has_splits:
        trusted = at.trust[problem.of_row] * at.told.shape
        weight -= spreads.fade / spreads.noise_within**2 * trusted
    if not exact:
        weight = np.clip(weight, 0, None)
    across = sparse.csr_array(shares.T)
    bend = (across @ (sparse.diags_array(weight) @ shares)).toarray()
    costs -= bend
    costs[np.diag_indices(ways)] += shares.T @ weight
    return total


def factored(matrix: Floats) -> Floats | None:
    """Cholesky's lower factor; ``None`` where there is none."""
    try:
        return linalg.cholesky(matrix, lower=True, check_finite=False)
    except linalg.LinAlgError:
        return None


def inverse(factor: Floats) -> Floats:
    """The inverse of the matrix that was factored."""
    if not len(factor):
        return factor
    got, failed = linalg.lapack.dpotri(factor, lower=1)
    if failed:
        raise linalg.LinAlgError("The factor is singular.")
    below = np.tril(got)
    return below + np.tril(got, -1).T
