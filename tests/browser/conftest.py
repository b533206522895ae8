"""A phone with a real browser, for whatever test drives one."""

import os
import shutil

import pytest

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


@pytest.fixture
def phone(request):
    """A page 390 px wide; its parameter says whether JavaScript is on (it is, unless told)."""
    if CHROMIUM is None:
        if os.environ.get("CI", "").lower() == "true":
            pytest.fail("browser tests need Chromium: apt install chromium")
        pytest.skip("browser tests need Chromium; on Debian: apt install chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        context = browser.new_context(
            viewport={"width": 390, "height": 844},
            java_script_enabled=getattr(request, "param", True),
        )
        yield context.new_page()
        browser.close()
