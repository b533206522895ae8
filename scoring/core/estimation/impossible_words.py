"""Why a mark is asked about, in words a coach can check: the pace it would mean, and the
range that was to be expected."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import ceil, exp, log

import numpy as np

from ..course import Course
from ..credits import Choice
from ..crowd import is_course
from ..marks import Caught, Finished, Mark
from ..oddities import Stretch, stretches
from ..prescription import clock_text
from ..scoring import Result
from .assumptions import REFERENCE_SECONDS
from .estimate import Estimate
from .impossible import quickest_seconds
from .naming import units, way_of
from .track import Track, track
from .ways import Way
from .worth import SHOWN, count


def unlike(
    excess: float, *, results: int, gym_results: int, until: str, expected: tuple[str, str] | None
) -> str:
    """Why a mark is all but impossible for its member.

    Parameters
    ----------
    excess
        Log time above what was to be expected, below 0 for a faster mark.
    results
        The member's own that it is known from; 0 for nothing known of them.
    gym_results, until
        What the estimate rests on, and the day of its last class; empty where there is none.
    expected
        The marks between which theirs was to be expected, the slower one first.
    """
    whose = "their usual pace" if results else "what the gym's members usually do"
    said = f"That would be {_times(exp(-excess))} {whose}."
    known = f"{count(results)} of theirs" if results else f"{count(gym_results)} of others"
    when = f" until {until}" if until else ""
    if expected is None:
        return f"{said} It is known from {known}{when}."
    slow, fast = expected
    between = f"about {slow}" if slow == fast else f"between {slow} and {fast}"
    return f"{said} From {known}{when} we'd expect {between}, four times in five."


def first_question(
    mark: Mark,
    *,
    is_too_much: bool,
    of: str,
    expected: tuple[str, str] | None = None,
    whose: str = "",
) -> str:
    """What is asked before an all but impossible mark is kept.

    Parameters
    ----------
    is_too_much
        More, or sooner, than was to be expected; else less.
    of
        Whom that is not to be expected of: ``you``, ``anybody here``.
    expected, whose
        The marks between which one was to be expected, the slower one first, and of whom if
        not of the same.
    """
    if isinstance(mark, Finished):
        is_so = "sooner" if is_too_much else "later"
    else:
        is_so = "more" if is_too_much else "less"
    asked = f"That is {is_so} than we would expect of {of}"
    if expected is not None:
        slow, fast = expected
        between = f"about {slow}" if slow == fast else f"between {slow} and {fast}"
        asked += f" (of {whose} {between})" if whose else f" ({between})"
    # Who stopped in time did right; nothing here may sound like a reproach.
    return f"{asked}. Is it right?" + ("" if is_too_much else " Stopping early is always fine.")


def _times(ratio: float) -> str:
    """``2.1 times``, ``41 % of``."""
    return f"{ratio:.1f} times" if ratio >= 1 else f"{max(1, round(100 * ratio))} % of"


class Anybody:
    """Tells of a course's results which nobody in the gym could have been that fast for.

    As in ``oddities.too_fast`` the quickest way used counts for the whole of a line, and what
    the estimate doesn't hold counts nothing, so that in doubt nothing is asked.
    """

    def __init__(self, estimate: Estimate, course: Course) -> None:
        self._estimate = estimate
        self._course = course
        self._positions = estimate.ways.positions
        self._units = [float(units(line)) for line in course.lines]
        self._quickest: dict[tuple[object, ...], list[int | None]] = {}

    def too_fast(self, result: Result) -> str:
        """Why nobody can be that fast, for the first stretch where it is so; else empty."""
        quickest = self._by_line(result.choices)
        for stretch in stretches(self._course, result):
            done: dict[int, float] = {}
            for line, reps in enumerate(stretch.counts):
                way = quickest[line]
                if reps and way is not None:
                    done[way] = done.get(way, 0.0) + reps * self._units[line]
            least = quickest_seconds(self._estimate, done)
            if least > stretch.seconds:
                return _fast_words(stretch, least)
        return ""

    def _by_line(self, choices: tuple[Choice, ...]) -> list[int | None]:
        """Position of the quickest way in which each line was done."""
        key = tuple((choice.line, choice.option, choice.load) for choice in choices)
        known = self._quickest.get(key)
        if known is None:
            known = self._quickest[key] = [
                self._least(way_of(line), *(way_of(line, c) for c in choices if c.line == index))
                for index, line in enumerate(self._course.lines)
            ]
        return known

    def _least(self, *ways: Way) -> int | None:
        held = [self._positions[way] for way in ways if way in self._positions]
        return min(held, key=lambda at: float(self._estimate.cost[at]), default=None)


def _fast_words(stretch: Stretch, least: float) -> str:
    reps = sum(stretch.counts)
    took, needs = clock_text(int(stretch.seconds)), clock_text(ceil(least))
    return (
        f"{stretch.told}{reps} rep{'' if reps == 1 else 's'} in {took}. By what results say of "
        f"these movements, even somebody faster than anybody so far needs about {needs}."
    )


def expected_marks(
    estimate: Estimate, course: Course, choices: Sequence[Choice], slowness: float, spread: float
) -> tuple[str, str] | None:
    """The marks between which one was to be expected four times in five, the slower first.

    Parameters
    ----------
    choices
        The member's own, for all of a line each.
    slowness, spread
        What was expected of the member in this class, in log time.

    Returns
    -------
    ``None`` where marks are no places against the clock, or the estimate lacks a way.
    """
    if not is_course(course) or course.limit is None:
        return None
    own = track(course, _whole(choices))
    positions = estimate.ways.positions
    if any(way not in positions for way in own.ways):
        return None
    cost = np.exp(estimate.cost[own.positions(estimate.ways)])
    slow, fast = (
        place_words(course, _reached(own, course, cost, estimate.spreads.fade, slowness + far))
        for far in (SHOWN * spread, -SHOWN * spread)
    )
    return slow, fast


def place_words(course: Course, mark: Finished | Caught) -> str:
    """A mark as pages say a place: ``12:34``, ``8 rounds + 8``, ``block 2, rung of 18, 3 hollow
    rock done``."""
    if isinstance(mark, Finished):
        return clock_text(mark.seconds)
    return course.describe(course.place(mark.reps))


def expected_reps(estimate: Estimate, reps: int, excess: float, spread: float) -> tuple[str, str]:
    """The same for intervals, whose reps add up: the total, the lower first.

    Parameters
    ----------
    reps, excess
        What was done in all, and how much slower than expected that was, in log time.
    """
    slow, fast = (
        max(0, round(reps * exp((excess + far) / estimate.spreads.fade)))
        for far in (-SHOWN * spread, SHOWN * spread)
    )
    return (f"{slow}" if slow < fast else f"{slow} reps"), f"{fast} reps"


def _whole(choices: Sequence[Choice]) -> dict[int, Choice]:
    """The choice that most of each line was done by; one without a count takes all the rest."""
    found: dict[int, Choice] = {}
    for choice in sorted(choices, key=lambda c: (c.reps is None, c.reps or 0)):
        found[choice.line] = choice
    return found


def _reached(
    own: Track, course: Course, cost: np.ndarray, fade: float, slowness: float
) -> Finished | Caught:
    """The mark of somebody as slow as that."""
    seconds = cost[:, None]
    ends, rests = own.at_ends(seconds)[:, 0], own.rests_before()
    if not own.is_endless:
        taken = REFERENCE_SECONDS * exp(fade * log(ends[-1] / REFERENCE_SECONDS) + slowness)
        if taken + rests[-1] <= own.limit:
            return Finished(Fraction(max(1, round(taken + rests[-1]))))
    work = 0.0
    for block, rest in enumerate(rests):
        left = own.limit - rest
        if left <= 0:
            break
        could = REFERENCE_SECONDS * exp((log(left / REFERENCE_SECONDS) - slowness) / fade)
        work = max(work, min(could, ends[block]) if block < len(ends) else could)
    reps = int(own.reps_at(np.array([[work]]), seconds)[0, 0])
    if course.total is not None and reps >= course.total:
        return Finished(Fraction(own.limit))
    return Caught(reps)
