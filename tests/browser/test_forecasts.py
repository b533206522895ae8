"""Forecasts on a phone: on the page of a draft, in a review, and their record."""

from datetime import timedelta

import pytest
from django.urls import reverse

from scoring.services.classes import close_class

from ..conftest import NOW, make_people
from ..scoring.classes import log, make_class
from ..scoring.test_forecasting import record_forecast, snapshot
from .steps import axe_faults, cut_off, too_wide, watch_console

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_a_forecast_is_read_while_planning_and_held_against_what_happened(look):
    people = make_people()
    snapshot(people, fast=[people.ana])
    ran = make_class(people, starts_at=NOW - timedelta(hours=2))
    lines = record_forecast(class_id=ran.pk, now=NOW).lines
    log(ran, people.ana, f"{lines.get(member=people.ana).middle} reps")
    log(ran, people.ben, f"{lines.get(member=people.ben).low - 9} reps")
    close_class(streamed_class=ran, by=people.coach, now=NOW)
    draft = make_class(people, is_open=False)
    page = look(people.coach)
    faults = watch_console(page)

    page.goto(reverse("class-edit", args=[draft.pk]))
    page.get_by_role("heading", name="Forecast").wait_for()
    assert page.get_by_role("row", name="Reach the AMRAP").count() == 1
    assert not too_wide(page)
    page.get_by_role("link", name="How honest forecasts have been").click()
    page.get_by_role("heading", name="How honest forecasts have been").wait_for()
    assert not too_wide(page) and cut_off(page) == []
    page.get_by_role("rowheader", name="Two ladders and a tide").get_by_role("link").click()
    page.get_by_role("heading", name="The forecast and what happened").wait_for()
    page.get_by_text("Everybody's range and place").click()
    assert page.get_by_role("row", name="Ben Okoro").first.is_visible()
    assert not too_wide(page)
    told = {"Blocks: foreseen and what happened", "How each movement was done"}
    assert not told & set(cut_off(page))
    assert faults == []
    addresses = [
        reverse("class-edit", args=[draft.pk]),
        reverse("class-review", args=[ran.pk]),
        reverse("forecast-record"),
    ]
    assert axe_faults(page, addresses) == {}
