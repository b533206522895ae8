"""What estimates hold of somebody who is erased, found and taken out.

A snapshot keeps what all results taught together, which names nobody. Of a member it keeps
their level on each day and how far each result lay from what was expected: both go, from
every snapshot, and their key with them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

import numpy as np

from scoring.core.estimation.forgetting import without
from scoring.core.estimation.packing import packed, unpacked
from scoring.core.estimation.ways import Ints
from scoring.models import EstimateSnapshot
from scoring.snapshots import UNREADABLE


@dataclass(frozen=True, slots=True)
class Blank:
    """What a snapshot's row says without somebody. Without ``figures`` nobody can read it any
    more, so nobody can be taken out of it: the whole row is to go."""

    pk: int
    figures: bytes | None
    members: bytes
    results: bytes


def blanks(
    *, gyms: Collection[int], members: Collection[int], results: Collection[int], is_gone: bool
) -> Iterator[Blank]:
    """Each snapshot that knows one of some members, without them. With ``is_gone`` the keys of
    their results go too."""
    rows = EstimateSnapshot.objects.filter(gym__in=gyms).order_by("pk")
    for pk in rows.values_list("pk", flat=True):
        row = rows.get(pk=pk)  # one at a time: each may be large
        member_keys, result_keys = _keys(row.members), _keys(row.results)
        member_at = np.flatnonzero(np.isin(member_keys, list(members)))
        if not len(member_at):
            continue
        result_at = np.flatnonzero(np.isin(result_keys, list(results)))
        figures = _without(bytes(row.figures), member_at, result_at)
        member_keys[member_at] = 0
        if is_gone:
            result_keys[result_at] = 0
        yield Blank(
            pk=pk,
            figures=figures,
            members=member_keys.tobytes(),
            results=result_keys.tobytes(),
        )


def _without(figures: bytes, members: Ints, results: Ints) -> bytes | None:
    try:
        estimate = unpacked(figures)
    except UNREADABLE:
        return None
    return packed(without(estimate, members.tolist(), results.tolist()))


def _keys(data: bytes | memoryview) -> Ints:
    found: Ints = np.frombuffer(bytes(data), dtype="<i8").copy()
    return found
