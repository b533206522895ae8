"""The contract of a scoring scheme and the register of those there are.

A scheme holds arithmetic only. Reading marks, credits, rounding, ranks and words around
them are shared and live elsewhere.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from fractions import Fraction

from ..course import Course
from ..marks import Mark
from ..ranking import pace_key


class SchemeError(TypeError):
    """A scheme that breaks the contract, or a course that no scheme or two claim."""


@dataclass(frozen=True, slots=True)
class Work:
    """What a result amounts to before a scheme looks at it.

    ``credited`` is in reps (or reference seconds where the class weighs reps, or
    kilograms in a strength piece), ``seconds`` the elapsed time E.
    """

    mark: Mark
    raw_reps: int
    credited: Fraction
    seconds: Fraction


@dataclass(frozen=True, slots=True)
class Adjusted:
    """The mark that the same credited pace would have reached as prescribed.

    Exactly one of ``reps`` (D, at the cap) and ``seconds`` is not ``None``.
    """

    text: str
    reps: Fraction | None = None
    seconds: Fraction | None = None


class Scheme(ABC):
    """How results on one kind of course compare."""

    name: str
    """Stable identifier, stored with scores: ``for-time``."""
    label: str
    """What people read: ``for time``."""

    @abstractmethod
    def fits(self, course: Course) -> bool:
        """Whether this scheme scores this course. Exactly one scheme fits a course."""

    @abstractmethod
    def performance(self, course: Course, work: Work) -> Fraction:
        """The exact figure the board orders by, more is better."""

    @abstractmethod
    def adjusted(self, course: Course, work: Work) -> Adjusted:
        """The adjusted mark."""

    def key(self, performance: Fraction) -> int:
        """The integer key of a performance, see ranking.py."""
        return pace_key(performance)

    def tie_key(self, work: Work) -> int:
        """Breaks ties before any split does; the smaller the better."""
        return 0


_registered: dict[str, Scheme] = {}


def register(cls: type[Scheme]) -> type[Scheme]:
    """Class decorator that adds a scheme.

    Raises
    ------
    SchemeError
        For a name that is taken, or a class that leaves part of the contract out.
    """
    for attribute in ("name", "label"):
        if not isinstance(getattr(cls, attribute, None), str):
            raise SchemeError(f"{cls.__name__} has no {attribute}")
    missing = getattr(cls, "__abstractmethods__", frozenset({"Scheme's methods"}))
    if missing:
        raise SchemeError(f"{cls.__name__} leaves out {', '.join(sorted(missing))}")
    if cls.name in _registered:
        raise SchemeError(f"the scheme {cls.name!r} is there already")
    _registered[cls.name] = cls()
    return cls


def schemes() -> tuple[Scheme, ...]:
    """All registered schemes."""
    return tuple(_registered.values())


def scheme_for(course: Course) -> Scheme:
    """The one scheme that fits a course.

    Raises
    ------
    SchemeError
        When none fits (nothing is scored) or more than one claims it.
    """
    fitting = [scheme for scheme in _registered.values() if scheme.fits(course)]
    if len(fitting) != 1:
        names = ", ".join(s.name for s in fitting) or "no scheme"
        raise SchemeError(f"{names} for {course.workout.title!r}; exactly one must fit")
    return fitting[0]
