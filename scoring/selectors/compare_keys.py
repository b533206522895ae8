"""What classes can have in common: a week, a coach, a time of day, a weekday."""

from __future__ import annotations

from dataclasses import dataclass

from scoring.core.iso_week import IsoWeek

from .compare_read import Held

BANDS = (
    (8, "early", "Early, before 8:00"),
    (11, "morning", "Morning, from 8:00"),
    (14, "midday", "Midday, from 11:00"),
    (17, "afternoon", "Afternoon, from 14:00"),
    (24, "evening", "Evening, from 17:00"),
)
"""Hours of the gym's clock before which each ends, its name and its label."""

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True, slots=True)
class Key:
    """``order`` sorts groups, ``label`` is what people read, ``more`` stands below it."""

    order: tuple[int | str, ...]
    label: str
    more: str = ""
    name: str = ""


def key_of(held: Held, by: str) -> Key:
    """Which group a class belongs to; ``by`` is a key of ``compare_asked.BY``."""
    starts = held.starts
    if by == "week":
        year, week, _ = starts.isocalendar()
        monday = IsoWeek.of(starts.date()).monday
        return Key(
            (year, week), f"Week of {monday:%-d %b %Y}", f"Week {week}", f"{year}-W{week:02d}"
        )
    if by == "coach":
        coach = held.streamed.coach
        return Key((coach.display_name.casefold(), coach.pk), coach.display_name, "", str(coach.pk))
    if by == "hour":
        number, (_, name, label) = next(
            (number, band) for number, band in enumerate(BANDS) if starts.hour < band[0]
        )
        return Key((number,), label, "", name)
    if by == "weekday":
        return Key((starts.weekday(),), DAYS[starts.weekday()], "", DAYS[starts.weekday()].lower())
    streamed = held.streamed
    return Key(
        (streamed.starts_at.isoformat(), streamed.pk),
        streamed.workout.title,
        f"{starts:%a %-d %b, %H:%M}, {streamed.coach.display_name}",
        str(streamed.pk),
    )
