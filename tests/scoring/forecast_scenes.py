"""What tests of forecasts share: an estimate, a class before, and what is asked of both."""

import html
from dataclasses import replace
from datetime import timedelta

import numpy as np
from django.urls import reverse

from scoring.core.course import Course
from scoring.core.estimation.estimate import LevelPaths
from scoring.core.estimation.packing import packed
from scoring.core.notation import parse
from scoring.models import (
    EstimateRun,
    EstimateSnapshot,
    ForecastRecord,
)
from scoring.selectors import estimates
from scoring.selectors.estimates import with_courses
from scoring.selectors.forecast_rows import forecast_rows
from scoring.selectors.forecasts import day_of, foretold
from scoring.services.forecasting import keep_forecast

from ..conftest import FOR_TIME, NOW, TWO_LADDERS
from .classes import make_class

WORKOUT = parse(TWO_LADDERS).workout
EVERY = """Minutes
every 1:00 for 10 rounds
5 burpee
"""


def snapshot(people, *, fast=(), until=NOW - timedelta(days=2), classes=(0,)):
    """An estimate that knows some members as fast, half as slow again as the rest."""
    held = with_courses(estimates.held(gym_id=people.gym.pk), [Course(WORKOUT, weighted=True)])
    count = len(fast)
    levels = LevelPaths(
        start=np.arange(count + 1),
        day=np.full(count, day_of(until, "UTC")),
        mean=np.full(count, -0.4),
        variance=np.full(count, 0.001),
        gain=np.zeros(count),
        with_last=np.full(count, 0.001),
        results=np.full(count, 9),
        lean=np.zeros((count, 0)),
    )
    run = EstimateRun.objects.create(gym=people.gym, state="good", finished_at=NOW)
    return EstimateSnapshot.objects.create(
        run=run, gym=people.gym, fingerprint="f" * 64, rules_version=1, model_version=1, code="",
        result_count=9, member_count=count, class_count=1, converged=True, convergence="",
        made_at=NOW, until=until, figures=packed(replace(held.estimate, levels=levels)),
        members=np.array([m.pk for m in fast], dtype="<i8").tobytes(),
        classes=np.array(classes, dtype="<i8").tobytes(), results=b"",
    )  # fmt: skip


def record_forecast(*, class_id, now):
    """What the task does; the newest forecast there is then."""
    found = forecast_rows(class_id=class_id)
    if found is not None:
        keep_forecast(record=found[0], lines=found[1], now=now)
    return ForecastRecord.objects.filter(streamed_class=class_id).first()


def ask(people, **kwargs):
    return foretold(viewer=people.coach, workout=WORKOUT, starts_at=NOW, **kwargs).forecast


def earlier(people, days, text=FOR_TIME):
    at = NOW - timedelta(days=days)
    return make_class(people, text, starts_at=at)


def read(answer):
    return " ".join(html.unescape(answer.content.decode()).split())


def preview(client, text, **sent):
    answer = client.post(
        reverse("workout-preview"), {"text": text, "starts_at": "2026-11-24T18:30", **sent}
    )
    assert answer.status_code == 200
    return read(answer)
