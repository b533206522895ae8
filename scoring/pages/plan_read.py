"""What plan pages are sent: days, clock times and weeks, in the gym's time zone."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.http import HttpRequest
from django.utils import timezone
from django.utils.dateparse import parse_date, parse_time

from members.keys import is_key
from members.models import Membership
from scoring.core.iso_week import IsoWeek, is_skipped, local_moment
from scoring.problems import refuse
from scoring.selectors.plan import zone_of
from scoring.selectors.templates import template_for


def today_of(viewer: Membership) -> date:
    """Today where the gym is."""
    return timezone.now().astimezone(zone_of(viewer)).date()


def read_day(text: str, column: str = "day") -> date:
    """A day as a browser's field or a person writes it. Raises ``Refused``."""
    try:
        read = parse_date(text.strip())
        if read is not None:
            IsoWeek.of(read)
    except ValueError:
        read = None
    if read is None:
        raise refuse(column, "That is no day.", "Write it like 2026-12-01.")
    return read


def read_clock(text: str, column: str = "clock") -> time:
    """A clock time without a zone. Raises ``Refused``."""
    try:
        read = parse_time(text.strip())
    except ValueError:
        read = None
    if read is None or read.tzinfo is not None:
        raise refuse(column, "That is no time.", "Write it like 18:30.")
    return read.replace(second=0, microsecond=0)


def read_moment(day: str, clock: str, zone: ZoneInfo) -> datetime:
    """A day and a time on a zone's clocks, in UTC. Raises ``Refused``, also for a time that
    clocks jump over."""
    on, at = read_day(day), read_clock(clock)
    if is_skipped(on, at, zone):
        raise refuse("clock", "Clocks jump over that time on that day.", "Write another time.")
    return local_moment(on, at, zone)


def read_week(text: str, column: str = "week") -> IsoWeek:
    """A week. Raises ``Refused``."""
    try:
        return IsoWeek.read(text)
    except ValueError as error:
        raise refuse(column, str(error), "Write it like 2026-W48.") from None


def shown_week(monday: date) -> str:
    """``23 to 29 November 2026``, ``28 December 2026 to 3 January 2027``."""
    last = monday + timedelta(days=6)
    first = f"{monday.day}"
    if monday.month != last.month:
        first += f"{monday: %B}"
    if monday.year != last.year:
        first += f" {monday.year}"
    return f"{first} to {last.day}{last: %B} {last.year}"


def begun_with(request: HttpRequest, viewer: Membership) -> dict[str, str]:
    """What a page that writes a class begins with: the text of the template named by
    ``pattern``, and the start named by ``at``, a gym's clock, as the viewer's own clock."""
    begun: dict[str, str] = {}
    named = request.GET.get("pattern", "")
    found = template_for(viewer=viewer, pk=int(named)) if is_key(named) else None
    if found is not None:
        begun["text"] = found.text
    try:
        at = datetime.fromisoformat(request.GET.get("at", ""))
        local = local_moment(at.date(), at.time(), zone_of(viewer)).astimezone(viewer.zone)
        begun["starts_at"] = local.strftime("%Y-%m-%dT%H:%M")
    except (ValueError, OverflowError):
        pass
    return begun
