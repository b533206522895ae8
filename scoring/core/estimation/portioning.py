"""Which way each rep was done: reps of lines and members' choices to units of ways."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..credits import Choice, ChoiceError
from .listing import Listing
from .on_course import OnCourse
from .times import Times
from .ways import Floats, Ints, Way


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """Units of ways: ``amount`` of ``way`` in ``row``, any number a row; ``stop`` the way under
    way in each row, -1 for a time; ``possible`` whether each result's choices can be."""

    row: Ints
    way: Ints
    amount: Floats
    stop: Ints
    possible: Ints


@dataclass(frozen=True, slots=True)
class _Chosen:
    """What some choices say of each line: the way of the reps that no choice counts, and the
    counted ones as given."""

    ways: tuple[int, ...]
    counted: dict[int, tuple[tuple[int, int], ...]]


class Laying:
    """Lays the reps of one class's results out by way; ``number`` gives a way its number."""

    def __init__(
        self, on: OnCourse, listing: Listing, day: float, number: Callable[[Way], int]
    ) -> None:
        self._on = on
        self._listing = listing
        self._day = day
        self._number = number
        self._used: dict[tuple[int, object, object], int] = {}
        self._written = tuple(self._use(Choice(line.index)) for line in on.course.lines)

    def _use(self, choice: Choice) -> int:
        """Number of a choice's way; raises ``ChoiceError`` for one that can't be."""
        key = choice.line, choice.option, choice.load
        known = self._used.get(key)
        if known is None:
            line = self._on.course.lines[choice.line]
            known = self._number(self._listing.use(line, choice, self._day))
            self._used[key] = known
        return known

    def _read(self, choices: tuple[Choice, ...]) -> _Chosen | None:
        """What choices say; ``None`` for some that can't be."""
        ways = list(self._written)
        counted: dict[int, tuple[tuple[int, int], ...]] = {}
        whole: set[int] = set()
        try:
            for choice in choices:
                if not 0 <= choice.line < len(ways):
                    return None
                way = self._use(choice)
                if choice.reps is None:
                    if choice.line in whole:
                        return None
                    whole.add(choice.line)
                    ways[choice.line] = way
                elif choice.reps < 0:
                    return None
                elif choice.reps:
                    counted[choice.line] = (*counted.get(choice.line, ()), (way, choice.reps))
        except ChoiceError:
            return None
        return _Chosen(tuple(ways), counted)

    def lay(self, told: Times, choices: Sequence[tuple[Choice, ...]]) -> Laid:
        """Lay out all rows; ``choices`` are those of each of ``told.results``."""
        kinds, kind_of = self._kinds(choices)
        possible = np.array([kinds[kind] is not None for kind in kind_of], dtype=bool)
        ways = np.array(
            [kind.ways if kind else self._written for kind in kinds], dtype=np.int64
        ).reshape(len(kinds), len(self._written))
        kind = np.array(kind_of, dtype=np.int64)[told.of]
        counts = told.counts.astype(np.float64)
        stopped = np.flatnonzero(told.stop >= 0)
        stop = np.full(len(told.of), -1, dtype=np.int64)
        stop[stopped] = ways[kind[stopped], told.stop[stopped]]
        extra = self._counted(told, kinds, kind_of, counts, stop, possible)
        row, line = np.nonzero(counts)
        unit = self._on.unit
        half = unit[told.stop[stopped]] / 2 if len(stopped) else np.zeros(0)
        return Laid(
            row=np.concatenate([row, np.array([e[0] for e in extra], dtype=np.int64), stopped]),
            way=np.concatenate(
                [ways[kind[row], line], np.array([e[1] for e in extra], np.int64), stop[stopped]]
            ),
            amount=np.concatenate(
                [counts[row, line] * unit[line], np.array([e[2] for e in extra], float), half]
            ),
            stop=stop,
            possible=possible,
        )

    def _kinds(
        self, choices: Sequence[tuple[Choice, ...]]
    ) -> tuple[list[_Chosen | None], list[int]]:
        """What each different set of choices says, and which one each result has."""
        numbers: dict[tuple[Choice, ...], int] = {}
        kinds: list[_Chosen | None] = []
        kind_of = []
        for own in choices:
            number = numbers.get(own)
            if number is None:
                number = numbers[own] = len(kinds)
                kinds.append(self._read(own))
            kind_of.append(number)
        return kinds, kind_of

    def _counted(
        self,
        told: Times,
        kinds: list[_Chosen | None],
        kind_of: list[int],
        counts: Floats,
        stop: Ints,
        possible: Ints,
    ) -> list[tuple[int, int, float]]:
        """Reps of lines in which members changed their way, taken out of ``counts``: row, way
        and units. First come the reps that no choice counts, then the counted ones."""
        extra: list[tuple[int, int, float]] = []
        changing = np.array([bool(k and k.counted) for k in kinds], dtype=bool)
        if not changing.any():
            return extra
        kind = np.array(kind_of, dtype=np.int64)[told.of]
        ends = np.flatnonzero(np.diff(told.of, append=-1) != 0)
        end_of = dict(zip(told.of[ends].tolist(), ends.tolist(), strict=True))
        for result, number in enumerate(kind_of):
            if changing[number] and result not in end_of:
                possible[result] = False  # no rep done, but some of them otherwise
        for row in np.flatnonzero(changing[kind]).tolist():
            chosen = kinds[kind[row]]
            assert chosen is not None
            result = int(told.of[row])
            end = end_of[result]
            for line, parts in chosen.counted.items():
                all_done = int(told.counts[end, line])
                first = all_done - sum(reps for _, reps in parts)
                if first < 0:
                    possible[result] = False
                    continue
                left = int(told.counts[row, line])
                counts[row, line] = 0.0
                for way, reps in ((chosen.ways[line], first), *parts):
                    done = min(left, reps)
                    left -= done
                    if done:
                        extra.append((row, way, done * float(self._on.unit[line])))
                if told.stop[row] == line:
                    stop[row] = parts[-1][0]
        return extra
