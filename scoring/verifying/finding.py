"""What a check says: a finding, and beside it what was looked at."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field


class CannotVerify(Exception):
    """Nothing can be said about the data; the words say why and what to do."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that must not be.

    Parameters
    ----------
    check
        Which invariant is broken, a name with dashes such as ``score-differs``.
    subject
        The row it is about, ``result 12 in class 3``. No names of people.
    detail
        What is there and what should be.
    remedy
        What to do about it.
    """

    check: str
    subject: str
    detail: str
    remedy: str


@dataclass(slots=True)
class Looked:
    """How much was looked at, by what it is; ``notes`` are true and no fault."""

    counts: Counter[str] = field(default_factory=Counter)
    notes: list[str] = field(default_factory=list)
