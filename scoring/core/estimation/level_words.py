"""What a level says in words, to the member it is of and to their coach.

Nothing here urges: a lower level is told as what it is, with the reasons that life has.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import floor

from .level_reading import TYPICAL, Reading

AWAY_DAYS = 21
"""Three weeks without a result are said to make a level less certain (common practice, no
source)."""

CAUTION = (
    "A level is worked out from reps and the clock alone. It says nothing about health, and it is "
    "no reason to go on when something hurts or feels wrong."
)
WHAT = (
    "100 is this gym's typical member: about the average of everybody who has results here, each "
    "as they began, so the middle of today's levels can be another. 110 does the same work a "
    "tenth faster. Movements, options, loads and the day of each class are taken into account. "
    "“Likely between” holds the true level four times in five."
)

SMALL = 5.0
"""Percent under which somebody is told to be about as fast as before (common practice, no
source)."""


@dataclass(frozen=True, slots=True)
class Person:
    """Words for whom a level is of."""

    whose: str
    are: str
    has: str


YOU = Person("Your", "you are", "You have")
THEY = Person("Their", "they are", "They have")


def day_text(day: date, today: date) -> str:
    """``1 September``, with the year where it is another one."""
    return f"{day.day} {day:%B}" + ("" if day.year == today.year else f" {day.year}")


def level_text(reading: Reading) -> str:
    """``108``: a level as pages show it."""
    return str(round(reading.level))


def between_text(reading: Reading) -> str:
    """``103 and 113``."""
    return f"{round(reading.low)} and {round(reading.high)}"


def beside_typical(reading: Reading) -> str:
    """``about 8 % faster than this gym's typical member``, at the same work."""
    more = round(reading.level) - round(TYPICAL)
    if more == 0:
        return "about as fast as this gym's typical member"
    return (
        f"about {abs(more)} % {'faster' if more > 0 else 'slower'} than this gym's typical member"
    )


def now_text(reading: Reading, person: Person) -> str:
    """The level of somebody who has results."""
    return (
        f"{person.whose} level is {level_text(reading)} (likely between {between_text(reading)}): "
        f"{beside_typical(reading)} at the same work."
    )


def nothing_text(reading: Reading, person: Person) -> str:
    """The level of somebody of whom nothing is known."""
    return (
        f"Nothing is known of {person.whose.lower()} level yet. The typical member's is "
        f"{level_text(reading)}, and four in five members of a gym lie between "
        f"{between_text(reading)}. It shows after a timed result, once its class has closed."
    )


def from_text(results: int, last: date, today: date) -> str:
    """``From 14 results until 21 November.``"""
    return f"From {results:,} result{'' if results == 1 else 's'} until {day_text(last, today)}."


def gap_text(last: date, today: date, person: Person) -> str:
    """That a gap makes a level less certain; empty without one."""
    days = (today - last).days
    if days < AWAY_DAYS:
        return ""
    weeks = days // 7
    return (
        f"{person.has} logged nothing by the clock for {weeks} weeks, so this is less certain: the "
        "likely range widens with every week. It narrows again with the next results."
    )


def chance_text(probability: float) -> str:
    """``87 %``; never 0 or 100."""
    percent = floor(100 * probability + 0.5)
    if percent >= 100:
        return "more than 99 %"
    return "less than 1 %" if percent < 1 else f"{percent} %"


def improved_text(
    probability: float,
    percent: float,
    since: date,
    today: date,
    person: Person,
    *,
    is_first: bool = False,
) -> str:
    """Whether somebody is faster than on a day.

    Parameters
    ----------
    probability
        That they are faster.
    percent
        How much higher the level is now, below 0 lower.
    is_first
        Whether it was the day of their first result.
    """
    day = day_text(since, today)
    when = f"at {person.whose.lower()} first result, on {day}" if is_first else f"on {day}"
    slower = 1 - probability
    how = "very likely" if max(probability, slower) >= 0.95 else "likely"
    if probability >= 0.7:
        chance = chance_text(probability)
        return f"It is {how} ({chance}) that {person.are} faster than {when}."
    if probability > 0.3:
        return (
            f"It can't be told whether {person.are} faster or slower than {when}: the chance "
            f"of faster is {chance_text(probability)}."
        )
    if percent > -SMALL:
        return (
            f"{person.are.capitalize()} about as fast as {when}, perhaps a little slower (the "
            f"chance of slower is {chance_text(slower)}). So much comes and goes with sleep, heat "
            "and a full life; nothing has to be made up for."
        )
    return (
        "Illness, a break, little sleep, heat or a full life make anybody slower for a while, and "
        "so does training for something else; nothing has to be made up for. It is "
        f"{how} ({chance_text(slower)}) that {person.are} slower at present than {when}."
    )


def too_late_text(last: date, today: date, person: Person) -> str:
    """That there is no result after the day asked for."""
    return (
        f"{person.whose} last result is of {day_text(last, today)}; pick an earlier day to "
        "compare with."
    )


def later_text(later: int) -> str:
    """That newer results are not in the level yet; empty without any."""
    if not later:
        return ""
    are = "newer result is" if later == 1 else "newer results are"
    return f"{later} {are} not in it yet: levels are worked out when a class has closed."


UNSETTLED = "The last working out had not quite come to rest, so take this with care."
ALONE = "There is nothing to compare with yet: a change shows from a second day with a result on."
