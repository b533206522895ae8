"""The whole path in a real browser, on a phone: sign in by code, log, board, history."""

import os
import re
import shutil

import pytest
from django.core import mail
from django.urls import reverse

from ..conftest import make_people
from ..scoring.classes import make_class

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
QUIET = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
]

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def phone(request):
    if CHROMIUM is None:
        if os.environ.get("CI", "").lower() == "true":
            pytest.fail("browser tests need Chromium: apt install chromium")
        pytest.skip("browser tests need Chromium; on Debian: apt install chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        context = browser.new_context(
            viewport={"width": 390, "height": 844}, java_script_enabled=request.param
        )
        yield context.new_page()
        browser.close()


@pytest.mark.parametrize("phone", [True, False], ids=["js", "no js"], indirect=True)
def test_a_member_signs_in_by_code_logs_and_sees_the_board(phone, live_server):
    from allauth.account.models import EmailAddress

    people = make_people()
    user = people.ana.user
    EmailAddress.objects.create(user=user, email=user.email, verified=True, primary=True)
    streamed = make_class(people)
    faults = []
    phone.on("console", lambda m: faults.append(m.text) if m.type == "error" else None)
    phone.goto(live_server.url + reverse("account_login"))
    phone.fill("input[type=email]", user.email)
    phone.locator("main form button").first.click()
    phone.wait_for_selector("[name=code]")
    code = re.search(r"^\s*(\w{3,4}-?\w{3,4})\s*$", mail.outbox[-1].body, re.M)[1]
    phone.fill("[name=code]", code)
    phone.locator("main form button").first.click()
    phone.get_by_role("link", name="Log my result").click()
    phone.fill("[name=mark]", "2+9")
    phone.get_by_label("tuck rock").first.check()
    phone.get_by_role("button", name="Send my result").click()
    phone.wait_for_url("**/results/*/")
    assert "180 credited reps" in phone.inner_text("main")
    phone.goto(live_server.url + reverse("class-board", args=[streamed.pk]))
    assert "Ana Sol (you)" in phone.inner_text("main")
    phone.goto(live_server.url + reverse("history"))
    assert "2+9" in phone.inner_text("main")
    assert faults == []


@pytest.mark.parametrize("phone", [True], ids=["js"], indirect=True)
def test_no_page_has_a_fault_that_axe_finds(phone, live_server, client):
    from axe_playwright_python.sync_playwright import Axe

    people = make_people()
    streamed = make_class(people)
    from ..scoring.classes import log

    result = log(streamed, people.ana, "2+9", "tuck rock").result
    client.force_login(people.coach.user, backend="django.contrib.auth.backends.ModelBackend")
    cookie = client.cookies["sessionid"].value
    pages = ["/cautions/", "/accounts/login/", "/"]
    found = {}
    axe = Axe()
    for signed_in in (False, True):
        if signed_in:
            phone.context.add_cookies(
                [{"name": "sessionid", "value": cookie, "url": live_server.url}]
            )
            pages = ["/", reverse("class-list"), reverse("history"), reverse("class-new")]
            names = ("class", "class-log", "class-board", "class-manage")
            pages += [reverse(name, args=[streamed.pk]) for name in names]
            pages += [reverse("result", args=[result.pk])]
        for page in pages:
            phone.goto(live_server.url + page)
            violations = axe.run(phone).response["violations"]
            if violations:
                found[page] = [(v["id"], v["nodes"][0]["html"][:90]) for v in violations]
    assert found == {}
