"""Keeping what was expected of a class before anybody logged."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from scoring.models import ForecastLine, ForecastRecord, State, StreamedClass

CHUNK = 500


@transaction.atomic
def keep_forecast(
    *, record: ForecastRecord, lines: Sequence[ForecastLine], now: datetime
) -> ForecastRecord | None:
    """Save a forecast that ``selectors.forecast_rows`` worked out.

    It is worked out before the class is locked, so what makes it superfluous is looked at
    again: then the one that is there is answered, if there is one.
    """
    streamed = (
        StreamedClass.objects.select_for_update(of=("self",))
        .filter(pk=record.streamed_class_id)
        .exclude(state=State.DRAFT)
        .first()
    )
    if streamed is None:
        return None
    last = ForecastRecord.objects.filter(streamed_class=streamed).order_by("-pk").first()
    if last is not None:
        is_same = (last.is_prior, last.snapshot_id) == (record.is_prior, record.snapshot_id)
        if is_same or streamed.results.exists():
            return last
    record.made_at = now
    record.save()
    for line in lines:
        line.record = record
    ForecastLine.objects.bulk_create(lines, CHUNK)
    return record
