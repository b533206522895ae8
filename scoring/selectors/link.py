"""What is passed on to members before a class."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from scoring.core.prescription import clock_text
from scoring.mapping import prescription
from scoring.models import StreamedClass

from .briefing import gear, standards


def invitation_text(streamed_class: StreamedClass, address: str) -> str:
    """A few lines to send to members: what, when, what to have ready, the coach's
    own words, and the one link."""
    zone = ZoneInfo(streamed_class.gym.timezone)
    local = streamed_class.starts_at.astimezone(zone)
    workout = prescription(streamed_class.workout.text)
    pieces = gear(standards(workout))
    limit = workout.time_limit
    said = [
        f"{workout.title}, {local:%A %-d %B, %H:%M} ({zone.key} time)"
        + (f", the clock stops at {clock_text(limit)}." if limit else "."),
        f"Have ready: {'; '.join(pieces) if pieces else 'a free piece of floor'}.",
        *([streamed_class.note.strip()] if streamed_class.note.strip() else []),
        f"Workout, options, cautions and logging: {address}",
    ]
    return "\n".join(said) + "\n"
