"""Times as a browser's field has them, on the clock of whoever looks."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone
from django.utils.dateparse import parse_datetime

from scoring.problems import refuse


def read_local(text: str, column: str = "starts_at") -> datetime:
    """A day and time as a browser's field or a person writes it. Raises ``Refused``."""
    try:
        read = parse_datetime(text.strip())
    except ValueError:
        read = None
    if read is None:
        raise refuse(column, "That is no date and time.", "Write 2026-12-01 18:30.")
    return read if timezone.is_aware(read) else timezone.make_aware(read)


def field_time(moment: datetime | None) -> str:
    """A time as a browser's field wants it; empty for none."""
    return timezone.localtime(moment).strftime("%Y-%m-%dT%H:%M") if moment else ""
