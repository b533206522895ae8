"""Under the site's own policy the API's documentation works, and no page is told off."""

import pytest
from django.urls import reverse

from ..conftest import make_people
from ..scoring.classes import log, make_class

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def told_off(page):
    """What the browser says about the policies while it shows the page: of what is refused, and
    of names it does not know."""
    said = []
    spoken = ("Content Security", "Permissions-Policy")
    page.on(
        "console",
        lambda line: said.append(line.text) if any(s in line.text for s in spoken) else 0,
    )
    return said


def test_the_apis_documentation_can_be_read_and_tried(look):
    page = look(make_people().ana)
    said = told_off(page)
    page.goto("/api/v1/docs/")
    page.locator("#operations-me-me").click()
    page.get_by_role("button", name="Try it out").click()
    page.get_by_role("button", name="Execute").click()
    page.get_by_text('"display_name": "Ana Sol"').first.wait_for()
    assert said == []


def test_no_page_does_what_the_policy_forbids(look):
    people = make_people()
    streamed = make_class(people)
    result = log(streamed, people.ana, "2+9").result
    page = look(people.owner)
    said = told_off(page)
    for where in (
        "/",
        reverse("class", args=[streamed.pk]),
        reverse("class-board", args=[streamed.pk]),
        reverse("class-log", args=[streamed.pk]),
        reverse("class-manage", args=[streamed.pk]),
        reverse("class-review", args=[streamed.pk]),
        reverse("class-screen", args=[streamed.pk]),
        reverse("result", args=[result.pk]),
        reverse("plan-week"),
        reverse("class-new"),
        reverse("credits"),
        reverse("member-list"),
        "/accounts/2fa/webauthn/",
        "/accounts/login/",
    ):
        page.goto(where)
        page.wait_for_load_state("networkidle") if "screen" not in where else None
    assert said == []
