"""The way into a gym in a real browser: by a link, by an entry kept, by a passkey."""

import pytest
from django.core import mail
from django.urls import reverse
from django.utils import timezone

from members import services
from members.models import Invitation, Membership
from scoring.models import Result

from ..conftest import make_people
from ..scoring.classes import log, make_class
from .steps import (
    add_authenticator,
    hand_to_another,
    mailed_code,
    sign_in_by_code,
    too_wide,
    watch_console,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

both = pytest.mark.parametrize("phone", [True, False], ids=["js", "no js"], indirect=True)


def make_account(page, email):
    """From an invitation: a new address, and the code that was mailed to it."""
    page.get_by_role("link", name="I am new here").click()
    page.get_by_label("E-mail address").fill(email)
    page.get_by_role("button", name="Send me a code").click()
    page.get_by_label("Code").fill(mailed_code())
    page.get_by_role("button", name="Go on").click()
    page.get_by_label("Your name in the gym").wait_for()


@both
def test_a_new_person_comes_in_by_a_coachs_link_and_sees_the_open_class(phone, live_server):
    people = make_people()
    make_class(people)
    faults = watch_console(phone)
    sign_in_by_code(phone, live_server.url, people.coach.user.email)
    phone.get_by_role("link", name="Members").click()
    phone.get_by_label("For how many people").fill("3")
    phone.get_by_role("button", name="Make a link", exact=True).click()
    link = phone.get_by_label("The link to pass on").input_value()
    assert link.startswith(live_server.url + "/join/")
    said = phone.locator(".notice").inner_text()
    assert "3 people" in said and "until" in said and "Take this link back" in said

    hand_to_another(phone)
    phone.goto(link)
    make_account(phone, "nia@example.org")
    phone.get_by_label("Your name in the gym").fill("Nia New")
    phone.get_by_role("button", name="Join").click()
    phone.get_by_text("You are in: Harbour Street, as Nia New.").wait_for()
    phone.get_by_role("link", name="Log my result").wait_for()
    assert "Two ladders and a tide" in phone.inner_text("main")
    assert Membership.objects.get(user__email="nia@example.org").gym == people.gym
    assert Invitation.objects.get().uses == 1
    assert faults == []


@both
def test_an_entry_kept_by_the_coach_is_claimed_with_its_result(phone, live_server):
    people = make_people()
    streamed = make_class(people)
    faults = watch_console(phone)
    sign_in_by_code(phone, live_server.url, people.coach.user.email)
    phone.goto(live_server.url + reverse("member-list"))
    phone.get_by_label("Name", exact=True).fill("Paula Paper")
    phone.get_by_role("button", name="Add", exact=True).click()
    phone.get_by_text("Paula Paper is in the list.").wait_for()
    entry = Membership.objects.get(display_name="Paula Paper")
    result = log(streamed, entry, "2+9", by=people.coach).result
    phone.get_by_role("button", name="Make a link for Paula Paper").click()
    link = phone.get_by_label("The link to pass on").input_value()

    hand_to_another(phone)
    phone.goto(link)
    assert "the results logged for it" in phone.inner_text("main")
    make_account(phone, "paula@example.org")
    assert phone.get_by_label("Your name in the gym").input_value() == "Paula Paper"
    phone.get_by_role("button", name="Make it mine").click()
    phone.get_by_text("as Paula Paper.").wait_for()
    phone.goto(live_server.url + reverse("history"))
    assert "2 rounds + 9" in phone.inner_text("main")
    entry.refresh_from_db()
    assert entry.user.email == "paula@example.org"
    assert Result.objects.get(member=entry) == result
    assert faults == []


def test_a_passkey_is_added_and_signs_in_without_a_code(phone, live_server):
    people = make_people()
    base = live_server.url
    assert base.startswith("http://localhost:")  # passkeys take no bare address
    faults = watch_console(phone)
    lock = add_authenticator(phone)
    sign_in_by_code(phone, base, people.ana.user.email)
    phone.goto(base + reverse("profile"))
    phone.get_by_role("link", name="Passkeys").click()
    phone.get_by_role("link", name="Add a passkey").click()
    phone.get_by_label("What to call it").fill("My old phone")
    phone.get_by_role("button", name="Add the passkey").click()
    phone.get_by_text("The passkey is there.").wait_for()
    assert "My old phone" in phone.inner_text("main")
    assert "passkey was added" in mail.outbox[-1].body

    def sign_out():
        phone.goto(base + reverse("account_logout"))
        phone.get_by_role("button", name="Sign out").click()
        phone.get_by_role("link", name="Sign in", exact=True).wait_for()

    sign_out()
    sent = len(mail.outbox)
    # To a page that asks who one is, and on to it once the passkey has told.
    phone.goto(base + reverse("history"))
    phone.get_by_role("button", name="Sign in with a passkey").click()
    phone.wait_for_url(base + reverse("history"))
    assert len(mail.outbox) == sent

    # It is a second door and no second lock: a device without it still gets in.
    sign_out()
    sign_in_by_code(phone, base, people.ana.user.email)

    phone.goto(base + reverse("mfa_list_webauthn"))
    phone.get_by_role("link", name="Remove My old phone").click()
    phone.get_by_role("button", name="Remove it").click()
    phone.get_by_text("You have none yet.").wait_for()
    assert faults == []

    # The device still offers what the site has forgotten; that is said in words.
    sign_out()
    phone.goto(base + reverse("account_login"))
    phone.get_by_role("button", name="Sign in with a passkey").click()
    phone.get_by_text("That passkey did not fit.").wait_for()
    assert "sign in by a code" in phone.inner_text("main")
    lock.detach()


def test_a_device_that_says_no_is_told_in_words(phone, live_server):
    people = make_people()
    faults = watch_console(phone)
    lock = add_authenticator(phone)
    sign_in_by_code(phone, live_server.url, people.ana.user.email)
    phone.goto(live_server.url + reverse("mfa_add_webauthn"))
    # As when somebody presses "cancel" in what their device asks.
    phone.evaluate(
        """() => { navigator.credentials.create = () =>
            Promise.reject(new DOMException("no", "NotAllowedError")); }"""
    )
    phone.get_by_role("button", name="Add the passkey").click()
    phone.get_by_text("cancelled or took too long").wait_for()
    assert faults == []
    lock.detach()


@pytest.mark.parametrize("phone", [False], ids=["no js"], indirect=True)
def test_without_javascript_no_button_is_shown_that_would_do_nothing(phone, live_server):
    people = make_people()
    phone.goto(live_server.url + reverse("account_login"))
    assert not phone.get_by_role("button", name="passkey").is_visible()
    sign_in_by_code(phone, live_server.url, people.coach.user.email)
    phone.goto(live_server.url + reverse("mfa_add_webauthn"))
    assert not phone.locator("#mfa_webauthn_add").is_visible()
    assert "needs JavaScript" in phone.inner_text("main")
    phone.goto(live_server.url + reverse("member-list"))
    phone.get_by_role("button", name="Make a link", exact=True).click()
    phone.get_by_label("The link to pass on").wait_for()
    assert not phone.get_by_text("Copy the link").is_visible()


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (1280, "dark")])
def test_no_page_of_joining_has_a_fault_that_axe_finds(phone, live_server, width, scheme):
    from axe_playwright_python.sync_playwright import Axe

    people = make_people()
    Membership.objects.create(gym=people.stranger_gym, user=people.owner.user, display_name="O")
    entry = services.add_member(by=people.owner, display_name="Paula Paper", now=timezone.now())
    open_link = services.invite(by=people.owner, now=timezone.now(), max_uses=5).token
    claim = services.invite(by=people.owner, now=timezone.now(), membership=entry).token
    phone.set_viewport_size({"width": width, "height": 900})
    # Colours that are still changing from one scheme to the other are no fault.
    phone.emulate_media(color_scheme=scheme, reduced_motion="reduce")
    found = {}

    def check(name):
        violations = Axe().run(phone).response["violations"]
        if violations or too_wide(phone):
            found[name] = [(v["id"], v["nodes"][0]["html"][:120]) for v in violations] or "too wide"

    def look(*names, args=()):
        for name in names:
            phone.goto(live_server.url + reverse(name, args=args))
            check(f"{name} {args}")

    look("account_login", "account_signup")
    for token in (open_link, claim, "nonsense"):
        look("join", args=[token])
    phone.goto(live_server.url + reverse("account_login"))
    phone.fill("input[type=email]", people.owner.user.email)
    phone.get_by_role("button", name="Send me a code").click()
    check("code")
    phone.get_by_label("Code").fill("WRONG")
    phone.get_by_role("button", name="Sign in", exact=True).click()
    phone.locator(".fault").wait_for()
    check("wrong code")
    phone.get_by_role("button", name="Use another address").click()
    phone.get_by_role("heading", name="Sign in", exact=True).wait_for()
    sign_in_by_code(phone, live_server.url, people.owner.user.email)
    for token in (open_link, claim):
        look("join", args=[token])
    look("profile", "account_email", "account_logout", "mfa_index", "mfa_list_webauthn")
    add_authenticator(phone)
    look("mfa_add_webauthn")
    phone.get_by_role("button", name="Add the passkey").click()
    phone.get_by_role("link", name="Rename").wait_for()
    check("passkeys")
    for link in ("Rename", "Remove"):
        phone.get_by_role("link", name=link).click()
        phone.get_by_role("heading", name=f"{link} a passkey").wait_for()
        check(link)
        phone.goto(live_server.url + reverse("mfa_list_webauthn"))
    look("member-list")
    phone.get_by_role("button", name="Make a link", exact=True).click()
    phone.get_by_label("The link to pass on").wait_for()
    for summary in phone.locator("summary").all():
        summary.click()
    check("a new link, and every member opened")
    assert found == {}
