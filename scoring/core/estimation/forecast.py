"""How far a group will get in a workout that nobody has done yet.

    log(E / 600) = γ · log(W / 600) + u + c + ε,   W = Σ units · exp(θ)

is turned round: in each of many draws of the costs θ, the day c, and each member's level u
and own luck ε, the clock says how much work W is done when it stops, and the course says
which place that is. Rests add to the clock and do no work. A place is the whole raw reps
done by then.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..prescription import MAX_SECONDS
from .assumptions import REFERENCE_SECONDS
from .beyond import MOST_TIMES
from .drawn import DRAWS, draw
from .estimate import Estimate
from .track import ALMOST, Track
from .ways import Floats, Ints

LOW, MIDDLE, HIGH = 0.1, 0.5, 0.9
"""Between ``LOW`` and ``HIGH`` lie four of five draws."""

CAP_STEP = 30
"""Caps are proposed in whole half minutes."""


@dataclass(frozen=True, slots=True)
class Gate:
    """The end of a block: the share of the group expected to get past it before the cap, and
    between which shares it will lie in four of five cases."""

    block: int
    share: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, eq=False)
class Forecast:
    """What a group will do by a cap.

    Attributes
    ----------
    cap : int
        In seconds.
    ensemble : (M, D) ints
        Each member's place in each draw, in raw reps.
    places : (M, 3) ints
        Low, middle and high place of each member.
    past : (M, B) floats
        The share of draws in which a member gets past the end of each block.
    times : (M, 3) floats
        Low, middle and high finishing time in seconds over the draws in which they finish;
        ``nan`` where they never do, and on an endless course.
    gates : tuple of Gate
        One for each block that has an end.
    middle : (3,) ints
        Where half of the group will be: low, middle and high.
    """

    cap: int
    ensemble: Ints
    places: Ints
    past: Floats
    times: Floats
    gates: tuple[Gate, ...]
    middle: Ints

    @property
    def last(self) -> Gate | None:
        """Finishing, or reaching the AMRAP; ``None`` where an AMRAP is all there is, and for
        nobody."""
        return self.gates[-1] if self.gates else None

    def shares(self) -> tuple[Ints, Floats]:
        """Places at which somebody may be when the clock stops, and how many members are
        expected at each."""
        at, counts = np.unique(self.ensemble, return_counts=True)
        return at.astype(np.int64), counts / max(1, self.ensemble.shape[1])


MOST_CELLS = 4_000_000
"""Sets times draws at most: of a course of many thousand sets fewer draws are taken."""

FEWEST_DRAWS = 200

LEVEL = 1e-9
"""Log times this close are the same: whoever ends with the clock has ended, whatever the last
digits of a machine's logarithms are."""


class Field:
    """A group on a course, ready to be asked.

    Parameters
    ----------
    estimate
        With all ways of the tracks in it.
    tracks
        The course, once for each set of choices somebody makes; all of one course.
    chosen : (M,) ints
        Which track each member takes.
    members : (M,) ints
        Positions in the estimate's levels, -1 for somebody without results.
    day
        When, in the days of the estimate's results.

    Raises
    ------
    ValueError
        For a way that the estimate doesn't know.
    """

    def __init__(
        self,
        estimate: Estimate,
        tracks: Sequence[Track],
        chosen: Ints,
        members: Ints,
        day: float,
        *,
        draws: int = DRAWS,
        seed: int = 0,
    ) -> None:
        own = [track.positions(estimate.ways) for track in tracks]
        needed = np.unique(np.concatenate(own)) if own else np.zeros(0, dtype=np.int64)
        longest = max((len(track.sets) for track in tracks), default=0)
        draws = min(draws, max(FEWEST_DRAWS, MOST_CELLS // max(1, longest)))
        drawn = draw(estimate, needed, members, day, draws, seed)
        self.tracks = tuple(tracks)
        self.fade = estimate.spreads.fade
        self.slowness = drawn.slowness
        every = np.exp(drawn.log_seconds)
        self._seconds = [every[np.searchsorted(needed, positions)] for positions in own]
        self._who = [np.flatnonzero(chosen == number) for number in range(len(tracks))]

    def __len__(self) -> int:
        return len(self.slowness)

    def other(self, tracks: Sequence[Track]) -> Field:
        """The same group with the same luck on another course of the same ways: what changes
        is the course alone. The tracks stand for the same choices, in the same order."""
        made = object.__new__(Field)
        made.tracks = tuple(tracks)
        made.fade, made.slowness, made._who = self.fade, self.slowness, self._who
        made._seconds = []
        for mine, track, seconds in zip(self.tracks, tracks, self._seconds, strict=True):
            made._seconds.append(seconds[[mine.ways.index(way) for way in track.ways]])
        return made

    def pace(self, block: int) -> Floats:
        """Log of the work seconds each member needs to a block's end in each draw, less
        ``REFERENCE_SECONDS``', in elapsed time; (M, D)."""
        found = self.slowness.copy()
        for who, track, seconds in self._parts():
            work = track.at_ends(seconds)[track.ends.index(block)]
            found[who] += self.fade * np.log(work / REFERENCE_SECONDS)
        return found

    def past(self, block: int, cap: float) -> NDArray[np.bool_]:
        """Whether each member is past a block's end by the cap, (M, D)."""
        left = cap - self.rest_before(block)
        if left <= 0:
            return np.zeros(self.slowness.shape, dtype=bool)
        found = np.zeros(self.slowness.shape, dtype=bool)
        bound = np.log(left / REFERENCE_SECONDS) + LEVEL
        for who, track, seconds in self._parts():
            work = track.at_ends(seconds)[track.ends.index(block)]
            found[who] = self.slowness[who] <= bound - self.fade * np.log(work / REFERENCE_SECONDS)
        return found

    def rest_before(self, block: int) -> float:
        """Seconds of rest before a block's end."""
        return float(self.tracks[0].rests_before()[block - 1])

    def cap_for(self, share: float, block: int | None = None) -> int | None:
        """The smallest whole half minute by which a share of the group is expected past a
        block's end, the last one's if none is given; ``None`` where there is no such end, no
        group, or it lies beyond what a cap can be.

        Raises
        ------
        ValueError
            For a share outside 0 < share ≤ 1.
        """
        if not 0 < share <= 1:
            raise ValueError("A share is more than 0 and at most 1: 0.8.")
        if not len(self) or not self.tracks[0].ends:
            return None
        end = block or self.tracks[0].ends[-1]
        pace = self.pace(end).ravel()
        rank = int(np.ceil(round(share * len(pace), 6))) - 1
        slowest = np.partition(pace, rank)[rank]
        exact = REFERENCE_SECONDS * float(np.exp(slowest)) + self.rest_before(end)
        cap = max(1, int(np.ceil(exact / CAP_STEP - 1e-9))) * CAP_STEP
        return cap if cap <= MAX_SECONDS else None

    def share_past(self, block: int, cap: float) -> float:
        """The share of the group expected past a block's end by the cap; 0 of nobody."""
        return float(self.past(block, cap).mean()) if len(self) else 0.0

    def places(self, cap: float) -> Ints:
        """Raw reps done by the cap, (M, D)."""
        found = np.zeros(self.slowness.shape, dtype=np.int64)
        for who, track, seconds in self._parts():
            found[who] = track.reps_at(self._work(track, seconds, self.slowness[who], cap), seconds)
        return found

    def beyond(self, cap: float) -> Ints:
        """Like ``places``, a finish counting as how far the same pace would have got by the
        cap had the course gone on (see ``beyond.py``)."""
        found = self.places(cap)
        if not len(self) or self.tracks[0].is_endless:
            return found
        last = self.tracks[0].ends[-1]
        left = cap - self.rest_before(last)
        if left <= 0:
            return found
        over = np.exp((np.log(left / REFERENCE_SECONDS) - self.pace(last)) / self.fade)
        np.minimum(over, MOST_TIMES, out=over)
        further = np.floor(self.tracks[0].finite * over + ALMOST).astype(np.int64)
        return np.where(found < self.tracks[0].finite, found, np.maximum(found, further))

    def _work(self, track: Track, seconds: Floats, slowness: Floats, cap: float) -> Floats:
        """Seconds of work done by the cap: between two rests the clock less the rests so far
        says how much, and never less than what lies before a rest, nor more than what lies
        between."""
        rests = track.rests_before()
        starts = [0, *np.flatnonzero(track.rest[1:] > 0) + 1]
        ends = track.at_ends(seconds)
        found = np.zeros(slowness.shape)
        for number, block in enumerate(starts):
            left = cap - rests[block]
            if left <= 0:
                break
            work = np.exp((np.log(left / REFERENCE_SECONDS) - slowness) / self.fade)
            work *= REFERENCE_SECONDS
            if number + 1 < len(starts):
                np.minimum(work, ends[starts[number + 1] - 1], out=work)
            if number:
                work = np.where(work > ends[block - 1], work, found)
            found = work
        return found

    def _parts(self) -> list[tuple[Ints, Track, Floats]]:
        return [
            (who, track, seconds)
            for who, track, seconds in zip(self._who, self.tracks, self._seconds, strict=True)
            if len(who)
        ]

    def forecast(self, cap: int | None = None) -> Forecast:
        """All of it by a cap, the course's own if none is given."""
        cap = self.tracks[0].limit if cap is None else cap
        ensemble = self.places(cap)
        ordered = np.sort(ensemble, axis=1)
        ends = self.tracks[0].ends
        past = np.zeros((len(self), len(ends)))
        gates = []
        for number, block in enumerate(ends if len(self) else ()):
            done = self.past(block, cap)
            past[:, number] = done.mean(axis=1)
            together = np.sort(done.mean(axis=0))
            low, high = together[[_rank(LOW, len(together)), _rank(HIGH, len(together))]]
            share = float(done.mean())
            # a few draws in which all fail can pull the mean below nine in ten of them
            gates.append(Gate(block, share, min(float(low), share), max(float(high), share)))
        return Forecast(
            cap=cap,
            ensemble=ensemble,
            places=ordered[:, _ranks(ordered.shape[1])],
            past=past,
            times=self._times(cap),
            gates=tuple(gates),
            middle=self._middle(ensemble),
        )

    def _times(self, cap: int) -> Floats:
        """Quantiles of finishing times over the draws in which a member finishes."""
        found = np.full((len(self), 3), np.nan)
        if (self.tracks and self.tracks[0].is_endless) or not len(self):
            return found
        last = self.tracks[0].ends[-1]
        seconds = np.sort(self.pace(last), axis=1)
        np.exp(seconds, out=seconds)
        seconds = seconds * REFERENCE_SECONDS + self.rest_before(last)
        counts = (seconds <= cap).sum(axis=1)
        for column, share in enumerate((LOW, MIDDLE, HIGH)):
            ranks = np.clip(np.ceil(share * counts).astype(np.int64) - 1, 0, None)
            found[:, column] = np.where(counts, seconds[np.arange(len(self)), ranks], np.nan)
        return found

    def _middle(self, ensemble: Ints) -> Ints:
        """Quantiles over draws of where half of the group is: the nearest rank, as the class
        page counts it."""
        if not len(self):
            return np.zeros(3, dtype=np.int64)
        rank = _rank(MIDDLE, len(self))
        half = np.sort(np.partition(ensemble, rank, axis=0)[rank])
        return np.asarray(half[_ranks(len(half))])


def _rank(share: float, count: int) -> int:
    return max(0, int(np.ceil(round(share * count, 6))) - 1)


def _ranks(count: int) -> list[int]:
    return [_rank(share, count) for share in (LOW, MIDDLE, HIGH)]


def forecast(
    estimate: Estimate,
    tracks: Sequence[Track],
    chosen: Ints,
    members: Ints,
    day: float,
    cap: int | None = None,
    *,
    draws: int = DRAWS,
    seed: int = 0,
) -> Forecast:
    """What a group will do; see ``Field`` for what is asked for."""
    return Field(estimate, tracks, chosen, members, day, draws=draws, seed=seed).forecast(cap)
