"""Messages on a phone: switched, quiet, and one ended from its own link."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse

from scoring.messages.links import unsubscribe_token
from scoring.models import MessageKind, MessageSettings

from ..conftest import make_people
from .steps import too_wide, watch_console

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize("javascript", [True, False], ids=["js", "no js"])
def test_messages_are_switched_and_one_is_ended_without_signing_in(look, javascript):
    people = make_people()
    page = look(people.ana, javascript=javascript)
    faults = watch_console(page)
    page.goto(reverse("profile"))
    page.get_by_role("link", name="My messages").click()
    page.get_by_label("On Monday").check()
    page.get_by_label("A class is open").uncheck()
    page.get_by_label("From", exact=True).fill("22:30")
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Saved.").wait_for()
    row = MessageSettings.objects.get(member=people.ana)
    assert (row.weekly, row.opened, f"{row.quiet_from:%H:%M}") == (True, False, "22:30")
    stranger = look(javascript=javascript)
    stranger.goto(reverse("unsubscribe", args=[unsubscribe_token(people.ana, MessageKind.WEEKLY)]))
    row.refresh_from_db()
    assert row.weekly  # opening the link alone ends nothing
    stranger.get_by_role("button").first.click()
    row.refresh_from_db()
    assert not row.weekly
    if javascript:
        for shown in (page, stranger):
            assert not too_wide(shown) and Axe().run(shown).response["violations"] == []
    assert faults == []
