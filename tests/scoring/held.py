"""Classes on other days than the one, for what looks over weeks."""

from datetime import timedelta

from scoring.models import StreamedClass
from scoring.services.classes import close_class

from ..conftest import FOR_TIME, NOW
from .classes import log, make_class


def held(people, days_ago, marks=None, *, coach=None, text=FOR_TIME, hour=None, closed=True, **kw):
    """A class so many days before ``NOW`` with marks by member: ``mark`` or ``(mark, options,
    effort)``."""
    streamed = make_class(people, text, **kw)
    for member, told in (marks or {}).items():
        mark, options, effort = told if isinstance(told, tuple) else (told, "", None)
        log(streamed, member, mark, options, effort=effort)
    if closed:
        close_class(streamed_class=streamed, by=people.coach, now=NOW)
    starts_at = NOW - timedelta(days=days_ago)
    if hour is not None:
        starts_at = starts_at.replace(hour=hour)
    rows = StreamedClass.objects.filter(pk=streamed.pk)
    rows.update(starts_at=starts_at, coach=coach or people.coach)
    return rows.get()
