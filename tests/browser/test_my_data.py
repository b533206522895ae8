"""My data on a phone: who sees it, a copy of it, being erased; with and without JavaScript."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.core import mail

from scoring.models import Erasure

from ..conftest import make_people
from ..scoring.classes import log, make_class
from .steps import sign_in_by_code, too_wide, watch_console

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

both = pytest.mark.parametrize("phone", [True, False], ids=["js", "no js"], indirect=True)


def look(page, name):
    """Nothing to scroll sideways, nothing axe finds, and a picture if a folder is named."""
    import os

    assert not too_wide(page), name
    if folder := os.environ.get("SHOTS"):
        page.screenshot(path=f"{folder}/{name}.png", full_page=True)
    found = Axe().run(page)
    assert found.violations_count == 0, (name, found.generate_report())


@both
def test_a_member_sees_who_sees_what_gets_a_copy_and_is_erased(phone, live_server, request):
    people = make_people()
    log(make_class(people), people.ana, "2+9", note="a note")
    faults = watch_console(phone)
    has_js = "no js" not in request.node.name
    sign_in_by_code(phone, live_server.url, people.ana.user.email)
    phone.get_by_role("link", name="My data").click()
    assert "You alone" in phone.inner_text("main")
    if has_js:
        look(phone, "privacy")

    phone.get_by_role("link", name="My year of birth and body weight").click()
    phone.get_by_label("Body weight in kg").fill("61,4")
    phone.get_by_role("button", name="Save").click()
    phone.get_by_text("Saved, for your eyes only.").wait_for()
    if has_js:
        look(phone, "body")

    phone.get_by_role("link", name="My data").click()
    phone.get_by_role("link", name="Get a copy").click()
    phone.get_by_role("button", name="Make a copy").click()
    phone.get_by_text("The link was sent to").wait_for()
    if has_js:
        look(phone, "export")
    link = re.search(r"http\S+", mail.outbox[-1].body)[0]
    with phone.expect_download() as started:
        phone.evaluate("a => { location.href = a }", link) if has_js else _open(phone, link)
    assert started.value.suggested_filename.endswith(".zip")

    phone.goto(live_server.url + "/me/erase/")
    phone.get_by_label("They go as well").check()
    phone.get_by_role("button", name="Erase me in 14 days").click()
    phone.get_by_text("You will be erased on").wait_for()
    assert Erasure.objects.get().results == "gone"
    if has_js:
        look(phone, "erase")
    phone.get_by_role("button", name="Take it back").click()
    phone.get_by_text("You stay.").wait_for()
    assert not Erasure.objects.exists()

    phone.goto(live_server.url + "/me/leave/")
    if has_js:
        look(phone, "leave")
    phone.get_by_role("button", name="Leave Harbour Street").click()
    phone.get_by_text("You have left Harbour Street.").wait_for()
    if has_js:
        look(phone, "left")
    assert faults == []


def _open(page, link):
    from playwright.sync_api import Error

    with pytest.raises(Error, match="Download"):  # a download is no page to go to
        page.goto(link)


def test_an_owner_sets_how_new_members_are_shown_by_keyboard(phone, live_server):
    people = make_people()
    sign_in_by_code(phone, live_server.url, people.owner.user.email)
    phone.goto(live_server.url + "/coach/members/")
    phone.get_by_role("link", name="Settings of the gym").press("Enter")
    phone.get_by_label("their name").focus()
    phone.keyboard.press("ArrowDown")
    phone.keyboard.press("Enter")
    phone.get_by_text("Saved.").wait_for()
    people.gym.refresh_from_db()
    assert people.gym.shown_as_default == "initials"
    look(phone, "gym")
