"""Results as arrays: what the model is fitted to."""

from __future__ import annotations

from dataclasses import dataclass

from scipy import sparse

from .ways import Floats, Ints


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Results, and a row for each time told of them: their end and any splits before it.

    Results are sorted by (member, day, class), rows by result and then by elapsed seconds,
    so that the same results always give the same arrays.

    Attributes
    ----------
    members, classes : int
        How many there are; positions below are less.
    member, class_ : (N,) ints
        Of each result.
    day : (N,) floats
        When it was, in days from any one instant.
    result : (R,) ints, not falling
        The result a row belongs to.
    seconds : (R,) floats, more than 0
        Elapsed time less the rests passed.
    stop : (R,) ints
        The way under way when the clock stopped; -1 for a time: a finish or a split.
    counts : (R, P) sparse floats
        Units done of each way by then (reps, metres, ...; see ``naming.units``). Of the rep
        that was under way when the clock stopped, a half is counted: it was somewhere in it.
    """

    members: int
    classes: int
    member: Ints
    class_: Ints
    day: Floats
    result: Ints
    seconds: Floats
    stop: Ints
    counts: sparse.csr_array

    def __len__(self) -> int:
        return len(self.member)
