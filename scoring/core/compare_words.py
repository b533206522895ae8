"""What a comparison says in words: figures, how sure they are, and how groups differ.

“Very likely” is 95 of 100, where “likely” is four times in five on every page.
"""

from __future__ import annotations

from math import exp

from .comparing import Estimate
from .grouping import Middle, Share

_MORE = {"higher": "clearly more than in the others", "lower": "clearly fewer than in the others"}
DIFFERS = {
    "logged": _MORE,
    "prescribed": _MORE,
    "effort": {
        "higher": "clearly harder than the others",
        "lower": "clearly easier than the others",
    },
    "pace": {
        "higher": "clearly faster than the others",
        "lower": "clearly slower than the others",
    },
}
ALL_ALIKE = {
    "none": "no clear difference from the others",
    "few": "too few to say how it differs",
    "alone": "",
    "open": "still open: more may log",
}

CHANCE = (
    "Of 20 such differences where there is none in truth, about one can look clear by chance. "
    "What you see once, look for again."
)


def differs_text(measure: str, how: str, pace_by: str = "workouts") -> str:
    """How a group stands to the others; empty where there are no others."""
    if measure == "pace" and pace_by == "members" and how in ("higher", "lower"):
        return f"clearly {'faster' if how == 'higher' else 'slower'}, its workout being part of it"
    return DIFFERS[measure].get(how) or ALL_ALIKE[how]


def percent(share: float) -> int:
    return round(100 * share)


def index(logarithm: float) -> int:
    """A pace as a percentage of the same people's mean."""
    return round(100 * exp(logarithm))


def people(count: int, one: str = "member", many: str = "members") -> str:
    return f"{count:,} {one if count == 1 else many}"


def share_text(share: Share | None, nothing: str) -> str:
    """``62 % (124 of 200), very likely 55 to 69 %``."""
    if share is None:
        return nothing
    told = f"{share.hits:,} of {share.tries:,}"
    if share.is_from_few or share.value is None or share.low is None or share.high is None:
        return f"{told}, from {people(share.n)}: too few to say"
    low, high = percent(share.low), percent(share.high)
    return f"{percent(share.value)} % ({told}), very likely {low} to {high} %"


def effort_text(spread: Middle | None) -> str:
    """``7 in the middle, half of all from 6 to 8 (42 told)``."""
    if spread is None or spread.value is None:
        return "nobody told"
    if spread.is_from_few:
        return f"{spread.n:,} told: too few to say"
    return (
        f"{_tidy(spread.value)} in the middle, half of all from {_tidy(spread.lower)} to "
        f"{_tidy(spread.upper)} ({spread.n:,} told)"
    )


def pace_text(pace: Estimate, pace_by: str) -> str:
    """``103, very likely 98 to 108, from 12 workouts``."""
    if pace.value is None:
        return "no pace to compare"
    one = pace_by.removesuffix("s")
    units = people(pace.n, one, pace_by)
    if pace.is_from_few or pace.low is None or pace.high is None:
        return f"from {units}: too few to say"
    return f"{index(pace.value)}, very likely {index(pace.low)} to {index(pace.high)}, from {units}"


def change_text(change: Estimate | None) -> str:
    """A change of pace paired on the same people: ``+4 %, very likely +1 to +7 %``."""
    if change is None or change.value is None:
        return "nobody did both"
    both = f"the same {people(change.n)}"
    if change.is_from_few or change.low is None or change.high is None:
        return f"{both}: too few to say"
    low, high = change.low, change.high
    how = "no clear change"
    if low > 0:
        how = "clearly faster"
    elif high < 0:
        how = "clearly slower"
    return (
        f"{_signed(change.value)} %, very likely {_signed(low)} to {_signed(high)} %, {both}: {how}"
    )


def _signed(logarithm: float) -> str:
    percent = 100 * (exp(logarithm) - 1)
    shown = f"{percent:+.1f}".removesuffix(".0")
    return "0" if shown in ("+0", "-0") else shown.replace("-", "−")


def _tidy(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
