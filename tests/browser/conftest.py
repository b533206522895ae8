"""A phone with a real browser, for whatever test drives one."""

import os
import shutil

import pytest
from django.test import Client

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


@pytest.fixture(scope="module")
def chromium():
    if CHROMIUM is None:
        if os.environ.get("CI", "").lower() == "true":
            pytest.fail("browser tests need Chromium: apt install chromium")
        pytest.skip("browser tests need Chromium; on Debian: apt install chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield browser
        browser.close()


@pytest.fixture
def phone(request, chromium):
    """A page 390 px wide; its parameter says whether JavaScript is on (it is, unless told)."""
    context = chromium.new_context(
        viewport={"width": 390, "height": 844},
        java_script_enabled=getattr(request, "param", True),
    )
    yield context.new_page()
    context.close()


@pytest.fixture
def look(chromium, live_server):
    """A signed-in page: ``look(member, width=…)``; addresses are relative to the site."""
    contexts = []

    def _look(member=None, width=390, javascript=True):
        context = chromium.new_context(
            base_url=live_server.url,
            viewport={"width": width, "height": 844},
            java_script_enabled=javascript,
        )
        contexts.append(context)
        if member is not None:
            client = Client()
            client.force_login(member.user, backend="django.contrib.auth.backends.ModelBackend")
            cookie = client.cookies["sessionid"].value
            context.add_cookies([{"name": "sessionid", "value": cookie, "url": live_server.url}])
        return context.new_page()

    yield _look
    for context in contexts:
        context.close()
