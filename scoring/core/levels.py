"""How fast each class went for the same people.

Two classes seldom have the same people in them, so their plain means compare the people as
much as the classes. Here the logarithm of a pace is taken as a member's own level plus what
is common to all in a class (its workout, its hour, its coach): a two-way layout without
interaction, by least squares (Yates 1934, J Am Stat Assoc 29:51, from memory). What is
common to a class can't be split any further from one class alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

ROUNDS = 200
CLOSE = 1e-7


@dataclass(frozen=True, slots=True)
class Levels:
    """``classes`` holds what is common to each class, ``members`` each member's own level,
    ``found`` by class and member a figure beside that level: the class as they found it.

    The classes' mean, each counted by its figures, is 0.
    """

    classes: Mapping[int, float]
    members: Mapping[int, float]
    found: Mapping[int, Mapping[int, float]]


def levels(figures: Iterable[tuple[int, int, float]]) -> Levels:
    """Split figures into what is a member's own and what is common to a class.

    Parameters
    ----------
    figures
        Class, member and figure, each pair once. Members with one figure only tell nothing
        of classes and are left out, as are classes of which nobody is left.

    Notes
    -----
    Where no member links two sets of classes, each set stands by its own mean.
    """
    rows = _telling(list(figures))
    classes = dict.fromkeys((row[0] for row in rows), 0.0)
    members = dict.fromkeys((row[1] for row in rows), 0.0)
    for _ in range(ROUNDS):
        _fit(rows, 1, 0, members, classes)
        if _fit(rows, 0, 1, classes, members) < CLOSE:
            break
    shift = sum(classes[row[0]] for row in rows) / len(rows) if rows else 0.0
    found: dict[int, dict[int, float]] = {key: {} for key in classes}
    for key, member, value in rows:
        found[key][member] = value - members[member] - shift
    return Levels(
        {key: value - shift for key, value in classes.items()},
        {key: value + shift for key, value in members.items()},
        found,
    )


def _telling(rows: list[tuple[int, int, float]]) -> list[tuple[int, int, float]]:
    counts: dict[int, int] = {}
    for _, member, _ in rows:
        counts[member] = counts.get(member, 0) + 1
    return [row for row in rows if counts[row[1]] > 1]


def _fit(
    rows: list[tuple[int, int, float]],
    own: int,
    other: int,
    fitted: dict[int, float],
    given: Mapping[int, float],
) -> float:
    """Means of what the other side leaves; the greatest change."""
    sums = dict.fromkeys(fitted, 0.0)
    counts = dict.fromkeys(fitted, 0)
    for row in rows:
        sums[int(row[own])] += row[2] - given[int(row[other])]
        counts[int(row[own])] += 1
    moved = 0.0
    for key, total in sums.items():
        mean = total / counts[key]
        moved = max(moved, abs(mean - fitted[key]))
        fitted[key] = mean
    return moved
