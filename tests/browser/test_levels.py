"""One's level on a phone: read without script, compared with another day, found sound by axe."""

from datetime import timedelta
from math import log as ln

import pytest
from django.urls import reverse
from django.utils import timezone

from ..conftest import make_people
from ..scoring.classes import log, make_class
from ..scoring.level_scenes import taught
from .steps import axe_faults, too_wide, watch_console
from .test_looks import OPEN_ALL, SMALL_TARGETS

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def risen():
    """Ana has logged on four days of these five months and is faster than before."""
    people = make_people()
    now = timezone.now()
    path, classes = [], []
    for days, level in ((150, 92), (100, 97), (40, 103), (4, 108)):
        at = now - timedelta(days=days)
        classes.append(make_class(people, starts_at=at, now=at))
        log(classes[-1], people.ana, "2+9")
        path.append((at, -ln(level / 100), 0.03))
    taught(people.gym, {people.ana: path}, {classes[-1]: (0.04, 0.02)})
    return people, classes[-1]


@pytest.mark.parametrize("javascript", [True, False], ids=["js", "no js"])
def test_a_member_reads_their_level_and_compares_it_with_another_day(look, risen, javascript):
    people, _ = risen
    page = look(people.ana, javascript=javascript)
    faults = watch_console(page)
    page.goto(reverse("history"))
    page.get_by_role("link", name="All of my progress").click()
    page.get_by_text("Your level is 108 (likely between").wait_for()
    page.get_by_role("img", name="Level over time").wait_for()
    since = timezone.localdate() - timedelta(days=40)
    page.get_by_label("Compare with").fill(since.isoformat())
    page.get_by_role("button", name="Compare").click()
    page.wait_for_url("**since=*")
    page.get_by_text(f"faster than on {since.day} {since:%B}").wait_for()
    page.get_by_text("The level by day").click()
    page.get_by_role("row", name="108 104–112 1").wait_for()
    assert faults == []


def test_axe_finds_nothing_and_every_target_is_large_enough(look, risen):
    people, streamed = risen
    page = look(people.ana)
    own = [reverse("progress"), reverse("progress") + "?since=soon", reverse("history")]
    assert axe_faults(page, own) == {}
    coach = look(people.coach)
    theirs = [
        reverse("member-page", args=[people.ana.pk]),
        reverse("class-review", args=[streamed.pk]),
    ]
    assert axe_faults(coach, theirs) == {}
    for viewer, addresses in ((page, own), (coach, theirs)):
        for address in addresses:
            viewer.goto(address)
            viewer.evaluate(OPEN_ALL)
            assert not too_wide(viewer), address
            # Links inside sentences are as large as their words (WCAG 2.5.8, inline).
            if "review" not in address:
                assert viewer.evaluate(SMALL_TARGETS) == [], address
