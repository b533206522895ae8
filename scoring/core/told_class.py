"""A class told in one paragraph: each claim with the section that holds its figures.

Nobody is named but for something good, and what hurts is only counted here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from .comparing import FEW

_NAMED = 3
_CROWD = 8


class Kind(StrEnum):
    """What the marks of a class are."""

    COURSE = "course"
    INTERVALS = "intervals"
    LIFT = "lift"


class Anchor(StrEnum):
    """The sections of the review that hold the figures."""

    CAME = "came"
    COURSE = "places"
    STOPPED = "stopped"
    OPTIONS = "options"
    EFFORT = "effort"
    LAST = "last-time"
    PLAN = "plan"
    BEST = "best"
    PAINS = "pains"


@dataclass(frozen=True, slots=True)
class Claim:
    """One sentence and the section that shows what it rests on."""

    text: str
    anchor: Anchor


@dataclass(frozen=True, slots=True)
class Change:
    """The credited pace now against the last time, in percent, of those who did both.

    ``low`` to ``high`` is the interval; both ``None`` where there are too few for one.
    """

    count: int
    percent: float
    low: float | None
    high: float | None
    when: str

    @property
    def is_sure(self) -> bool:
        """Whether the interval leaves zero out."""
        return self.low is not None and self.high is not None and not self.low <= 0 <= self.high


@dataclass(frozen=True, slots=True)
class ClassFacts:
    """What happened in a class.

    ``members`` are the gym's members now. ``halfway`` is the mark at which half had stopped,
    in words; ``all_alike`` says that everybody has that mark. ``crowded`` is the set that
    stopped most and how many. ``plan`` are sentences of their own. ``improved`` did better than
    in every earlier time of this workout, ``first_prescribed`` did it as prescribed for the
    first time after scaling it, ``newcomers`` logged their first result: display names.
    """

    kind: Kind = Kind.COURSE
    logged: int = 0
    members: int = 0
    usual_missing: int = 0
    is_open: bool = False
    prescribed: int = 0
    has_options: bool = True
    can_finish: bool = False
    finished: int = 0
    halfway: str = ""
    halfway_finished: bool = False
    all_alike: bool = False
    nothing_done: int = 0
    crowded: tuple[str, int] | None = None
    effort: tuple[int, int] | None = None
    change: Change | None = None
    plan: Sequence[str] = field(default_factory=tuple)
    improved: Sequence[str] = field(default_factory=tuple)
    first_prescribed: Sequence[str] = field(default_factory=tuple)
    newcomers: Sequence[str] = field(default_factory=tuple)
    pains: int = 0


def claims(facts: ClassFacts) -> list[Claim]:
    """The paragraph, sentence by sentence; one sentence where nobody logged."""
    return list(_claims(facts))


def _claims(facts: ClassFacts) -> Iterator[Claim]:
    if facts.pains:
        yield Claim(_pains(facts), Anchor.PAINS)
    yield Claim(_came(facts), Anchor.CAME)
    if facts.logged:
        if facts.can_finish:
            yield Claim(_finished(facts), Anchor.STOPPED)
        if text := _halfway(facts):
            yield Claim(text, Anchor.STOPPED)
        if facts.crowded:
            where, count = facts.crowded
            yield Claim(f"The set that stopped most was {where}: {count} there.", Anchor.STOPPED)
        yield from (Claim(text, Anchor.PLAN) for text in facts.plan)
        if facts.has_options:
            yield Claim(_prescribed(facts), Anchor.OPTIONS)
        if facts.effort:
            yield Claim(_effort(facts), Anchor.EFFORT)
        if facts.change:
            yield Claim(_change(facts.kind, facts.change), Anchor.LAST)
        yield from _best(facts)


def percent(part: int, of: int) -> str:
    """A share as whole percent, never rounded to none or to all when it is neither."""
    share = round(Fraction(100 * part, of))
    if part and not share:
        return "under 1 %"
    if part < of and share == 100:
        return "over 99 %"
    return f"{share} %"


def _people(count: int) -> str:
    return "1 member" if count == 1 else f"{count} members"


def _share(part: int, of: int) -> str:
    """``12 of 30 (40 %)``; below ten a percentage says less than the count."""
    return f"{part} of {of}" + (f" ({percent(part, of)})" if of >= 10 else "")


def _came(facts: ClassFacts) -> str:
    if not facts.logged:
        return "Nobody has logged yet." if facts.is_open else "Nobody logged."
    text = f"{_share(facts.logged, facts.members)} members"
    text = text if facts.members >= facts.logged else _people(facts.logged)
    have = "has" if facts.logged == 1 else "have"
    text += f" {have} logged so far" if facts.is_open else " logged"
    if facts.usual_missing == 1:
        text += "; 1 who usually comes has not"
    elif facts.usual_missing:
        text += f"; {facts.usual_missing} who usually come have not"
    return text + "."


def _finished(facts: ClassFacts) -> str:
    if facts.finished == facts.logged:
        return "The only one finished." if facts.logged == 1 else f"All {facts.logged} finished."
    if not facts.finished:
        return "The clock caught everybody before the end."
    return f"{_share(facts.finished, facts.logged)} finished."


def _halfway(facts: ClassFacts) -> str:
    if facts.logged == 1:
        if facts.halfway_finished:
            return f"Their time is {facts.halfway}."
        return f"They got to {facts.halfway}."
    if facts.nothing_done == facts.logged:
        return "Nobody got through a rep before the clock stopped."
    if facts.all_alike:
        return f"Everybody has the same mark, {facts.halfway}."
    if facts.kind is Kind.LIFT:
        return f"Half lifted {facts.halfway} or less."
    if facts.kind is Kind.INTERVALS:
        return f"Half did {facts.halfway} or fewer in all intervals together."
    if facts.halfway_finished:
        return f"Half had finished by {facts.halfway}."
    return f"Half had stopped by {facts.halfway}."


def _prescribed(facts: ClassFacts) -> str:
    if facts.logged == 1:
        return f"It was done {'as prescribed' if facts.prescribed else 'scaled'}."
    if facts.prescribed == facts.logged:
        return "All of it was as prescribed."
    if not facts.prescribed:
        return "Everybody scaled something."
    return f"{_share(facts.prescribed, facts.logged)} did it as prescribed."


def _effort(facts: ClassFacts) -> str:
    assert facts.effort is not None
    middle, count = facts.effort
    if count == 1:
        return f"The one who told how hard it was said {middle} of 10."
    who = "Half" if count == facts.logged else f"Of {count} who told how hard it was, half"
    return f"{who} found it {middle} of 10 or less."


def signed(value: float) -> str:
    """A change in percent with its sign: ``+4.2``, ``−1.0``, ``0.0``."""
    text = f"{abs(value):.1f}"
    if text == "0.0":
        return text
    return f"{'+' if value > 0 else '−'}{text}"


def _change(kind: Kind, change: Change) -> str:
    what = "load" if kind is Kind.LIFT else "credited pace"
    who = "The one member" if change.count == 1 else f"The {change.count} members"
    text = f"{who} who did it on {change.when} too changed by {signed(change.percent)} % in {what}"
    if change.count < FEW or change.low is None or change.high is None:
        return f"{text}, from {_people(change.count)}: could be chance."
    between = f"very likely between {signed(change.low)} and {signed(change.high)} %"
    if change.is_sure:
        return f"{text} ({between})."
    return f"{text} ({between}, so it could be no change)."


def names(listed: Sequence[str]) -> str:
    """``Ana, Ben and Cleo``; then how many more, and of a crowd only the count."""
    if len(listed) > _CROWD:
        return f"{len(listed)} members"
    shown = list(listed[:_NAMED])
    if len(listed) > _NAMED:
        shown.append(f"{len(listed) - _NAMED} more")
    return shown[0] if len(shown) == 1 else ", ".join(shown[:-1]) + f" and {shown[-1]}"


def _best(facts: ClassFacts) -> Iterator[Claim]:
    if facts.improved:
        yield Claim(f"{names(facts.improved)} did better than ever in this workout.", Anchor.BEST)
    if facts.first_prescribed:
        yield Claim(
            f"{names(facts.first_prescribed)} did it as prescribed for the first time.",
            Anchor.BEST,
        )
    if facts.newcomers:
        result = "a first result" if len(facts.newcomers) == 1 else "their first results"
        yield Claim(f"{names(facts.newcomers)} logged {result}.", Anchor.BEST)


def _pains(facts: ClassFacts) -> str:
    who = "1 member said" if facts.pains == 1 else f"{facts.pains} members said"
    return f"{who} that something hurts: ask before the next class."
