"""Each reason to have a word with somebody, found in the facts, with its evidence in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from hashlib import sha256

from members.models import Membership, Role
from scoring.core import follow_up as rules
from scoring.core.body import advice
from scoring.core.credits import choice_label, credit_for, parse_choices
from scoring.core.follow_up import Point, Reason, Use
from scoring.mapping import course_of, rules_of
from scoring.models import Pain, State, StreamedClass

from .follow_up_facts import (
    FRESH_DAYS,
    Earlier,
    Facts,
    Row,
    earlier_times,
    last_before,
    told_pains,
)
from .usual import Usual, usual

OVER = timedelta(hours=12)
"""So long after its start a class that is still open counts as over."""

MISSED_DAYS = timedelta(days=7)
BY_CHANCE = "By chance alone it happens to about one in 24, so ask before you conclude."


@dataclass(frozen=True, slots=True)
class Found:
    """A reason with its evidence. What was done on ``occasion``, or on one of ``also``, was
    done about this one. ``values`` fill a draft's fields; ``cautions`` are for the coach."""

    reason: Reason
    occasion: str
    evidence: str
    class_id: int | None = None
    result_id: int | None = None
    also: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    values: dict[str, str] = field(default_factory=dict)
    day: date | None = None


@dataclass(slots=True)
class Seeker:
    """Finds the reasons of members; asks the database when made, and never again."""

    facts: Facts
    now: datetime
    silent_days: int
    is_gym_wide: bool
    before: dict[int, datetime] = field(init=False)
    times: dict[tuple[int, str, bool], list[Earlier]] = field(init=False)
    pains: dict[int, list[Pain]] = field(init=False)
    missed: StreamedClass | None = field(init=False)
    usual: Usual | None = field(init=False)

    def __post_init__(self) -> None:
        facts = self.facts
        self.before = last_before(facts)
        self.times = earlier_times(facts)
        self.pains = told_pains(facts, since=facts.upto - timedelta(days=rules.PAIN_DAYS))
        self.missed = self._class_to_miss()
        self.usual = usual(self.missed) if self.missed else None

    def _class_to_miss(self) -> StreamedClass | None:
        over = [
            streamed
            for streamed in self.facts.fresh.values()
            if streamed.state == State.CLOSED or streamed.starts_at <= self.now - OVER
        ]
        if self.is_gym_wide:
            over = [c for c in over if c.starts_at >= self.now - MISSED_DAYS]
        return over[-1] if over else None

    def reasons(self, member: Membership) -> list[Found]:
        """All reasons of a member, the most careful first; pains each, of the rest the newest."""
        rows = self.facts.by_member.get(member.pk, [])
        fresh = [n for n, row in enumerate(rows) if row.class_id in self.facts.fresh]
        pains = self.pains.get(member.pk, [])
        hurt = {pain.streamed_class_id for pain in pains}
        lately = self.facts.upto - timedelta(days=FRESH_DAYS)
        if any(pain.told_at >= lately for pain in pains):
            hurt |= set(self.facts.fresh)
        found: dict[str, Found] = {}
        for one in self._pains(member):
            found[one.occasion] = one
        for number in reversed(fresh):
            is_newest = number == fresh[-1]
            for one in self._of_result(member, rows, number, hurt, is_newest=is_newest):
                found.setdefault(one.reason, one)
        for one in self._of_absence(member, rows):
            found.setdefault(one.reason, one)
        return sorted(found.values(), key=lambda one: one.reason.rank)

    # --- each reason ---------------------------------------------------------

    def _pains(self, member: Membership) -> Iterator[Found]:
        since = self.now - timedelta(days=FRESH_DAYS)
        for pain in self.pains.get(member.pk, []):
            is_fresh = pain.streamed_class_id in self.facts.fresh
            if not is_fresh and not (self.is_gym_wide and pain.told_at >= since):
                continue
            streamed = pain.streamed_class
            words = f", “{pain.words}”" if pain.words else ""
            yield Found(
                Reason.PAIN,
                f"class-{streamed.pk}-{int(pain.told_at.timestamp())}",
                f"Said after {self._told(streamed)}: {', '.join(pain.areas)}{words}.",
                class_id=streamed.pk,
                cautions=advice(pain.areas),
                values={"class": streamed.workout.title},
                day=self.facts.day(pain.told_at),
            )

    def _of_result(
        self, member: Membership, rows: list[Row], number: int, hurt: set[int], *, is_newest: bool
    ) -> Iterator[Found]:
        row = rows[number]
        if row.effort == rules.MOST_EFFORT:
            said = f"Told an effort of 10 for {self._told(self._class(row))}."
            yield self._found(Reason.EFFORT, row, said)
        if is_newest and (one := self._falling(rows[: number + 1])):
            yield one
        previous = self._class(rows[number - 1]).starts_at if number else self.before.get(member.pk)
        if previous is None:
            yield self._found(Reason.FIRST, row, f"First result here: {self._told_result(row)}.")
        elif one := self._back(row, previous):
            yield one
        # Who hurts is neither praised nor asked to do more.
        if row.class_id in hurt:
            return
        if is_newest and (one := self._option(member, rows[: number + 1])):
            yield one
        if one := self._best(member, row):
            yield one

    def _falling(self, rows: list[Row]) -> Found | None:
        last = [row for row in rows[-3 * rules.USES :] if self.facts.is_timed(row)]
        last = [row for row in last if self.facts.index(row) is not None][-rules.FALLS - 1 :]
        points = [Point(self.facts.index(row) or 0, row.effort) for row in last]
        if not rules.is_falling(points):
            return None
        paces = " → ".join(str(point.index) for point in points)
        efforts = " → ".join(str(point.effort) for point in points)
        return self._found(
            Reason.FALLING,
            last[-1],
            f"Pace against the class {paces} (100 is its middle) over the last four results, "
            f"with effort {efforts}. {BY_CHANCE}",
            also=[f"class-{row.class_id}" for row in last[1:-1]],
        )

    def _back(self, row: Row, previous: datetime) -> Found | None:
        streamed, facts = self._class(row), self.facts
        held = facts.held_between(previous, streamed.starts_at)
        before, day = facts.day(previous), facts.day(streamed.starts_at)
        days = rules.days_away(before, day, held=held)
        if days is None:
            return None
        said = f"Logged {self._told(streamed)}; the time before was {self._date(before)}, "
        return self._found(Reason.BACK, row, f"{said}{days} days earlier.", days=str(days))

    def _best(self, member: Membership, row: Row) -> Found | None:
        streamed = self._class(row)
        key = (member.pk, streamed.workout.fingerprint, streamed.weighted)
        times = [t for t in self.times.get(key, []) if t.starts_at < streamed.starts_at]
        if not times:
            return None
        best = max(times, key=lambda t: t.order)
        if row.order <= best.order:
            return None
        said = f"{self._told_result(row)}, the best of {len(times) + 1} times. Before: "
        day = self._date(self.facts.day(best.starts_at))
        return self._found(Reason.BEST, row, f"{said}{best.mark} on {day}.")

    def _option(self, member: Membership, rows: list[Row]) -> Found | None:
        row = rows[-1]
        if row.effort is None or row.effort > rules.EASY_EFFORT:
            return None
        areas = {area for pain in self.pains.get(member.pk, []) for area in pain.areas}
        for movement, label in self._easier(row):
            used = [r for r in rows if r.options and (movement, label) in self._easier(r)]
            used = used[-rules.USES :]
            uses = [Use(*self.facts.place(r), r.effort) for r in used]
            if not rules.could_leave(uses) or rules.is_hurt_there(movement, areas):
                continue
            places = ", ".join(f"{use.place} of {use.size}" for use in uses)
            efforts = ", ".join(str(use.effort) for use in uses)
            name = sha256(f"{movement}\n{label}".encode()).hexdigest()[:12]
            return self._found(
                Reason.OPTION,
                row,
                f"{label} in place of {movement}: the last four results with it came {places}, "
                f"with effort {efforts}. They could try {movement}; you decide, and only if "
                "nothing hurts.",
                occasion=f"{name}-{row.class_id}",
                also=[f"{name}-{r.class_id}" for r in used[:-1]],
                option=label,
            )
        return None

    def _easier(self, row: Row) -> list[tuple[str, str]]:
        """Options of a result that count less than the movement as written, in its order."""
        streamed = self._class(row)
        if not row.options:
            return []
        course, table = course_of(streamed), rules_of(streamed).table
        return [
            (line.line.movement, choice_label(line, choice))
            for choice in parse_choices(course, row.options)
            if choice.option is not None
            for line in [course.lines[choice.line]]
            if credit_for(line, choice, table, above_one=True)[0] < 1
        ]

    def _of_absence(self, member: Membership, rows: list[Row]) -> Iterator[Found]:
        if member.role != Role.MEMBER:
            return
        missed, facts = self.missed, self.facts
        there = {row.class_id for row in rows}
        times = self.usual.times if self.usual else {}
        if missed is not None and self.usual and member.pk in times and missed.pk not in there:
            yield Found(
                Reason.MISSED,
                f"class-{missed.pk}",
                f"Nothing logged in {self._told(missed)}; they logged in "
                f"{times[member.pk]} of {self.usual.which} before it.",
                class_id=missed.pk,
                values={"class": missed.workout.title},
                day=facts.day(missed.starts_at),
            )
        if not self.is_gym_wide:
            return
        last = self._class(rows[-1]).starts_at if rows else self.before.get(member.pk)
        since = last or member.joined_at
        day = facts.day(since)
        held = facts.held_between(since, self.now)
        days = rules.days_silent(day, facts.day(self.now), held=held, at_least=self.silent_days)
        if days is not None:
            said = f"The last result is of {self._date(day)}, {days} days ago."
            if last is None:
                said = f"Joined on {self._date(day)}, {days} days ago, and never logged."
            yield Found(
                Reason.SILENT,
                f"since-{day}",
                f"{said} Classes held since: {held}.",
                values={"days": str(days)},
                day=day,
            )

    # --- in words ------------------------------------------------------------

    def _class(self, row: Row) -> StreamedClass:
        return self.facts.classes[row.class_id]

    def _date(self, day: date) -> str:
        year = "" if day.year == self.facts.day(self.now).year else f" {day.year}"
        return f"{day.day} {day:%B}{year}"

    def _told(self, streamed: StreamedClass) -> str:
        day = self.facts.day(streamed.starts_at)
        return f"{streamed.workout.title} on {day:%A} {self._date(day)}"

    def _told_result(self, row: Row) -> str:
        return f"{row.told} in {self._told(self._class(row))}"

    def _found(
        self,
        reason: Reason,
        row: Row,
        evidence: str,
        *,
        occasion: str = "",
        also: list[str] | None = None,
        **values: str,
    ) -> Found:
        streamed = self._class(row)
        return Found(
            reason,
            occasion or f"class-{row.class_id}",
            evidence,
            class_id=row.class_id,
            result_id=row.result_id,
            also=tuple(also or ()),
            values={"class": streamed.workout.title, "result": row.told, **values},
            day=self.facts.day(streamed.starts_at),
        )
