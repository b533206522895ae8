"""A gym's classes as a calendar that other programs read (RFC 5545)."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from icalendar import Calendar, Event

from members.models import Membership
from scoring.models import State, StreamedClass

from .briefing import STOP
from .classes import classes_for
from .week import lasts

BACK = timedelta(weeks=8)
LOOK_AGAIN = timedelta(hours=6)


def calendar_of(
    *,
    viewer: Membership,
    now: datetime,
    address: Callable[[StreamedClass], str],
    cautions: str,
) -> bytes:
    """The classes a member may see, from eight weeks back to everything to come.

    ``address`` tells a class's page, ``cautions`` that of the cautions. The same classes give
    the same bytes, whenever it is asked.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Class board//Classes//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    # The first is what RFC 7986 names it; the second is what most programs read.
    calendar.add("name", viewer.gym.name)
    calendar.add("x-wr-calname", viewer.gym.name)
    calendar.add("refresh-interval", LOOK_AGAIN, {"VALUE": "DURATION"})
    found = classes_for(viewer=viewer).filter(starts_at__gte=now - BACK)
    for row in found.order_by("starts_at", "pk"):
        calendar.add_component(_event(row, address(row), cautions))
    return calendar.to_ical()


def _event(row: StreamedClass, address: str, cautions: str) -> Event:
    event = Event()
    event.add("uid", str(_uid(row)))
    # No clock in it: a calendar that did not change has to stay the same byte by byte.
    changed = max(at for at in (row.created_at, row.opened_at, row.closed_at) if at is not None)
    event.add("dtstamp", changed.astimezone(UTC))
    event.add("last-modified", changed.astimezone(UTC))
    event.add("sequence", row.board_version)
    event.add("dtstart", row.starts_at.astimezone(UTC))
    event.add("duration", lasts(row))
    event.add("summary", row.workout.title)
    event.add("description", f"{row.workout.text}\n{STOP}\n{cautions}")
    event.add("url", address)
    event.add("status", "TENTATIVE" if row.state == State.DRAFT else "CONFIRMED")
    return event


def _uid(row: StreamedClass) -> uuid.UUID:
    """The same as long as the class is there, and another one in every other installation."""
    return uuid.uuid5(uuid.NAMESPACE_OID, f"{row.gym_id}/{row.pk}/{row.created_at.isoformat()}")
