"""What results have taught, on a narrow screen: no table loses a column."""

import pytest
from django.urls import reverse

from ..conftest import make_people
from ..scoring.classes import make_class
from ..scoring.past_classes import held_class, made
from .steps import axe_faults, cut_off, too_wide

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_nothing_is_cut_off_where_figures_are_read(look):
    people = make_people()
    for number in range(3):
        held_class(people, number)
    made(people.gym)
    draft = make_class(people, is_open=False)
    page = look(people.coach, width=390)
    addresses = [
        reverse("estimates"),
        reverse("fairness"),
        reverse("forecast-record"),
        reverse("class-edit", args=[draft.pk]),
    ]
    for address in addresses:
        page.goto(address)
        assert cut_off(page) == [] and not too_wide(page)
    page.get_by_role("heading", name="Reps").wait_for()
    assert axe_faults(page, addresses[:1]) == {}
