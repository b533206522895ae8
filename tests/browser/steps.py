"""What a person does again and again in a browser."""

import re

from axe_playwright_python.sync_playwright import Axe
from django.core import mail
from django.urls import reverse


def mailed_code():
    """The code in the newest e-mail: letters and digits on a line of their own."""
    return re.search(r"^\s*(\w{3,4}-?\w{3,4})\s*$", mail.outbox[-1].body, re.M)[1]


def sign_in_by_code(page, base, email):
    """As a person does it: the address, then the code that was mailed."""
    page.goto(base + reverse("account_login"))
    page.fill("input[type=email]", email)
    page.locator("main form button").first.click()
    page.wait_for_selector("[name=code]")
    page.fill("[name=code]", mailed_code())
    page.locator("main form button").first.click()
    page.get_by_role("link", name="Sign out").wait_for()


def hand_to_another(page):
    """Forget who is signed in, as another person's phone would not know it."""
    page.context.clear_cookies()


def watch_console(page):
    """A list that every error on the console is added to; a broken CSP is one."""
    faults = []
    page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda error: faults.append(str(error)))
    return faults


def too_wide(page):
    """Whether the page must be scrolled sideways."""
    return page.evaluate("document.documentElement.scrollWidth > window.innerWidth")


def cut_off(page):
    """The names of tables that must be scrolled sideways to be read."""
    return page.locator(".scroll").evaluate_all(
        "found => found.filter(e => e.scrollWidth > e.clientWidth).map(e => e.ariaLabel)"
    )


def axe_faults(page, addresses):
    """What axe finds on these pages, light and dark, with everything on them opened."""
    found, axe = {}, Axe()
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        for address in addresses:
            page.goto(address)
            page.evaluate(
                "() => document.querySelectorAll('details').forEach((d) => { d.open = true })"
            )
            violations = axe.run(page).response["violations"]
            if violations:
                found[scheme, address] = [(v["id"], v["nodes"][0]["html"][:90]) for v in violations]
    return found


def add_authenticator(page):
    """Give the browser a device lock that says yes."""
    session = page.context.new_cdp_session(page)
    session.send("WebAuthn.enable")
    options = {
        "protocol": "ctap2",
        "transport": "internal",
        "hasResidentKey": True,
        "hasUserVerification": True,
        "isUserVerified": True,
        "automaticPresenceSimulation": True,
    }
    session.send("WebAuthn.addVirtualAuthenticator", {"options": options})
    return session
