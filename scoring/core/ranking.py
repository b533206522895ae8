"""The one order of a board: keys, ties, competition ranks, mid-rank percentiles.

A score's place in the order is two integers that fit a signed 64-bit column: ``key``,
the greater the better, and among equal keys ``tie_key``, the smaller the better. Equal
pairs are ties. SQL, Redis, the API and the exports all sort by these two and nothing else.

``key`` is ``floor(performance * KEY_SCALE)``. Two different paces are ``C1/E1`` and
``C2/E2`` with E in hundredths of a second, at most 6 h = 2,160,000 of them, and C in
multiples of 1/100,000 (four decimals of credit, one of reference seconds). They differ
by at least ``100 / (100_000 * 2_160_000**2) > 2 / 10**16``, so a scale of 10**16 keeps
different paces apart and equal ones together: the integer order is the exact order.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

KEY_SCALE = 10**16
MAX_KEY = 2**63 - 1
NO_SPLIT = 2**62
"""The tie key of a result without the split that breaks ties: behind all that have one."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a board. ``name`` orders only what is shown inside a tie."""

    key: int
    tie_key: int
    name: str
    id: object = None


def pace_key(performance: Fraction) -> int:
    """The integer key of a pace in credited reps a second.

    Raises
    ------
    OverflowError
        Above 922 a second, which no body does.
    """
    key = performance.numerator * KEY_SCALE // performance.denominator
    if key > MAX_KEY:
        raise OverflowError("pace beyond the key's range")
    return key


def ordered(entries: Iterable[Entry]) -> list[Entry]:
    """Entries best first; inside a tie by display name, never by who came first."""
    return sorted(entries, key=lambda e: (-e.key, e.tie_key, e.name.casefold(), e.name))


def competition_ranks(entries: Sequence[Entry]) -> list[int]:
    """1 + the number of strictly better entries, for entries in any order.

    Returns
    -------
    list of int
        In the order of ``entries``; empty for none. ``1-2-2-4`` for a tie at two.
    """
    first: dict[tuple[int, int], int] = {}
    for position, pair in enumerate(sorted((-e.key, e.tie_key) for e in entries), start=1):
        first.setdefault(pair, position)
    return [first[(-e.key, e.tie_key)] for e in entries]


PERCENTILE_FROM = 5
"""Percentiles are shown from this many entries up."""


def percentile(worse: int, equal: int, total: int) -> Fraction | None:
    """Mid-rank percentile: 100 × (worse + ½ × equal, oneself included) / entries.

    ``None`` below five entries, where it would say nothing.
    """
    if total < PERCENTILE_FROM:
        return None
    return Fraction(100 * (2 * worse + equal), 2 * total)
