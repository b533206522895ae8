"""From courses and members' results to the arrays that the model is fitted to.

A result has a row for its end and one for each split before it. Seconds are the clock's less
the rests passed. Where the clock stopped in the middle, half a raw rep more is counted of the
line under way: the rep was somewhere between begun and done. Members who change option in a
line are taken to step down, as ``credits.portions`` has it: first the reps that no choice
counts, then the counted ones as given.

What tells nothing of pace has no row: a result without a single rep, a lift, intervals whose
set of reps leaves time over at the end (only those to the last second have a pace), and a
total of several intervals and movements that doesn't say which reps they were, rests that
leave no time for what was done.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import sparse

from ..course import Course
from ..credits import CreditTable
from ..scoring import Result
from .listing import Listing
from .on_course import OnCourse
from .portioning import Laid, Laying
from .rows import Rows
from .times import Times, times
from .ways import Ints, Way, Ways


@dataclass(frozen=True, slots=True)
class Held:
    """A class and its results.

    Parameters
    ----------
    key
        Whatever tells the class from others; of equal days the lower stands first.
    course
        What was done; whether it weighs reps doesn't matter here.
    day
        When it was, in days from any one instant.
    results
        Key of the result, key of the member, and what they reported.
    """

    key: int
    course: Course
    day: float
    results: Sequence[tuple[int, int, Result]]


@dataclass(frozen=True, slots=True, eq=False)
class Gathered:
    """What a fit takes, and what its positions mean.

    Attributes
    ----------
    ways : Ways
    rows : Rows
    members : (M,) ints, rising
        Keys by position.
    classes : (C,) ints
        Keys by position, by day and then key; classes without a result are not there.
    results : (N,) ints
        Keys by position.
    left_out : int
        Results that can't be, as one with more reps of an option than were done.
    silent : int
        Results that tell nothing of pace and could not, as a lift. One without a rep has a
        position and no row.
    """

    ways: Ways
    rows: Rows
    members: Ints
    classes: Ints
    results: Ints
    left_out: int
    silent: int


class Gathering:
    """Takes classes one by one, so that nobody need hold them all.

    Parameters
    ----------
    table
        The gym's credits of today: what its options are tied by.
    """

    def __init__(self, table: CreditTable) -> None:
        self._listing = Listing(table)
        self._ways: dict[Way, int] = {}
        self._courses: dict[int, tuple[Course, OnCourse]] = {}
        self._classes: list[tuple[float, int]] = []
        self._parts: list[_Part] = []
        self._left_out = 0
        self._silent = 0

    def _on(self, course: Course) -> OnCourse:
        known = self._courses.get(id(course))
        if known is None:
            # The course is kept with it, or its id could come again.
            known = course, OnCourse(Course(course.workout, weighted=True))
            self._courses[id(course)] = known
        return known[1]

    def add(self, held: Held) -> None:
        """Take a class in."""
        on = self._on(held.course)
        if on.is_lift or not on.course.lines:
            self._silent += len(held.results)
            return
        self._listing.see(on.course, held.day)
        given = held.results
        told = times(on, [result for _, _, result in given])
        laid = Laying(on, self._listing, held.day, self._number).lay(
            told, [given[index][2].choices for index in told.results]
        )
        self._left_out += told.left_out + int(np.count_nonzero(~laid.possible))
        self._silent += told.silent
        here = len(self._classes)
        self._classes.append((held.day, held.key))
        keys = np.array([given[index][:2] for index in told.results], dtype=np.int64)
        self._parts.append(_Part(here, keys.reshape(-1, 2), told, laid))

    def _number(self, way: Way) -> int:
        return self._ways.setdefault(way, len(self._ways))

    def done(self) -> Gathered:
        """All that was taken in, in the one order that it has."""
        ways = self._listing.ways()
        positions = ways.positions
        way_at = np.array([positions[way] for way in self._ways], dtype=np.int64)
        return _assembled(ways, way_at, self._classes, self._parts, (self._left_out, self._silent))


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """A class's results as read: ``keys`` (n, 2) of results and members."""

    class_: int
    keys: Ints
    times: Times
    laid: Laid


def gather(classes: Iterable[Held], table: CreditTable) -> Gathered:
    """From classes with their results to what a fit takes.

    The order of classes and results doesn't matter: the same ones give the same arrays.
    """
    gathering = Gathering(table)
    for held in classes:
        gathering.add(held)
    return gathering.done()


def _assembled(
    ways: Ways,
    way_at: Ints,
    classes: list[tuple[float, int]],
    parts: list[_Part],
    uncounted: tuple[int, int],
) -> Gathered:
    """One order for everything: results by member, day and class, rows by result and clock."""
    base = np.cumsum([0, *(len(part.keys) for part in parts)])
    possible = _joined([part.laid.possible for part in parts], bool)
    keys = _joined([part.keys for part in parts], np.int64, (0, 2))
    of_class = np.repeat([part.class_ for part in parts], np.diff(base)).astype(np.int64)
    keys, of_class = keys[possible], of_class[possible]
    there = np.unique(of_class).tolist()
    listed = sorted(there, key=classes.__getitem__)
    class_at = np.full(len(classes), -1, dtype=np.int64)
    class_at[listed] = np.arange(len(listed))
    members, member = np.unique(keys[:, 1], return_inverse=True)
    class_ = class_at[of_class]
    # Classes are in the order of their days, so that members and classes order results.
    order = np.lexsort((keys[:, 0], class_, member))
    place = np.full(len(possible), -1, dtype=np.int64)
    place[np.flatnonzero(possible)[order]] = np.arange(len(order))
    result = _joined([place[part.times.of + at] for part, at in zip(parts, base, strict=False)])
    seconds = _joined([part.times.seconds for part in parts], np.float64)
    stop = _joined([part.laid.stop for part in parts])
    stop = np.where(stop < 0, -1, way_at[stop] if len(way_at) else -1)
    of_rows = np.cumsum([0, *(len(part.times.of) for part in parts)])
    row = _joined([part.laid.row + at for part, at in zip(parts, of_rows, strict=False)])
    way = _joined([part.laid.way for part in parts])
    amount = _joined([part.laid.amount for part in parts], np.float64)
    counts = sparse.csr_array(
        (amount, (row, way_at[way] if len(way) else way)), shape=(len(seconds), len(ways))
    )
    rising = np.lexsort((np.arange(len(result)), seconds, result))
    rising = rising[result[rising] >= 0]
    counts = sparse.csr_array(counts[rising])
    counts.sum_duplicates()
    rows = Rows(
        members=len(members),
        classes=len(listed),
        member=member[order].astype(np.int64),
        class_=class_[order],
        day=np.array([day for day, _ in classes], dtype=np.float64)[of_class[order]],
        result=result[rising],
        seconds=seconds[rising],
        stop=stop[rising],
        counts=counts,
    )
    return Gathered(
        ways=ways,
        rows=rows,
        members=members,
        classes=np.array([classes[index][1] for index in listed], dtype=np.int64),
        results=keys[order, 0],
        left_out=uncounted[0],
        silent=uncounted[1],
    )


def _joined(arrays: list[Any], kind: Any = np.int64, shape: tuple[int, ...] = (0,)) -> Any:
    return np.concatenate([np.zeros(shape, dtype=kind), *arrays])
