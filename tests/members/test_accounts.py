"""Signing in, the address, passkeys: no page or mail speaks of what is not there."""

import re
from types import SimpleNamespace

import pytest
from allauth.mfa.models import Authenticator
from django.conf import settings
from django.core import mail
from django.template.loader import render_to_string
from django.urls import reverse

from members.accounts import PasskeyAdapter
from members.models import User

from .test_pages import code_from_mail, follow

# As rows of the library are: what a passkey's row must have to be listed.
PASSKEY = {"type": Authenticator.Type.WEBAUTHN, "data": {"name": "Phone", "credential": {}}}

OPEN_PAGES = ["account_login", "account_signup", "account_request_login_code", "account_inactive"]
OWN_PAGES = [
    "profile",
    "account_email",
    "account_logout",
    "mfa_index",
    "mfa_list_webauthn",
    "mfa_add_webauthn",
]
# Words of the library's own pages that would be wrong or unclear here.
FOREIGN = re.compile(
    r"password(?! to remember)|username|two-factor|security key|authenticat(?:or|ion)|recovery"
    r"|primary|verif|sign ?up|passwordless[^-\"]*</|None\b",
    re.I,
)


def shown(answer):
    """The words of a page's main part, without markup and scripts."""
    main = re.search(r"<main.*?</main>", answer.content.decode(), re.S).group()
    words = re.sub(r"<script.*?</script>", "", main, flags=re.S)
    values = " ".join(re.findall(r'type="(?:email|text)" value="([^"]*)"', words))
    return re.sub(r"<[^>]+>", " ", words) + values


@pytest.mark.parametrize("name", OPEN_PAGES)
def test_pages_of_signing_in_use_the_words_of_this_site(client, db, name):
    answer = client.get(reverse(name))
    assert answer.status_code == 200
    assert not FOREIGN.search(shown(answer)), FOREIGN.search(shown(answer))


@pytest.mark.parametrize("name", OWN_PAGES)
def test_pages_of_an_account_use_the_words_of_this_site(client, people, name):
    Authenticator.objects.create(user=people.ana.user, **PASSKEY)
    client.force_login(people.ana.user)
    people.ana.user.emailaddress_set.update(verified=True)
    if name == "mfa_add_webauthn":  # it reads the stored keys themselves
        Authenticator.objects.all().delete()
    answer = client.get(reverse(name))
    assert answer.status_code == 200
    assert not FOREIGN.search(shown(answer)), FOREIGN.search(shown(answer))


def test_a_passkey_can_be_renamed_and_removed_and_only_by_whose_it_is(client, people):
    key = Authenticator.objects.create(user=people.ana.user, **PASSKEY)
    edit = reverse("mfa_edit_webauthn", args=[key.pk])
    remove = reverse("mfa_remove_webauthn", args=[key.pk])
    client.force_login(people.ben.user)
    assert [client.post(edit, {"name": "Mine"}).status_code, client.post(remove).status_code] == [
        404,
        404,
    ]
    client.force_login(people.ana.user)
    assert "Phone" in shown(client.get(remove))
    client.post(edit, {"name": "Old phone"})
    assert "Old phone" in shown(client.get(reverse("mfa_list_webauthn")))
    client.post(remove)
    assert "You have none yet" in shown(client.get(reverse("mfa_list_webauthn")))
    assert "removed from your account" in mail.outbox[-1].body


def test_who_has_a_passkey_still_gets_in_by_a_code(client, people):
    Authenticator.objects.create(user=people.ana.user, **PASSKEY)
    sent = {"email": people.ana.user.email}
    where, _ = follow(client, client.post("/accounts/login/code/", sent))
    where, answer = follow(client, client.post(where, {"code": code_from_mail()}))
    assert (where, answer.status_code) == ("/", 200)
    assert not PasskeyAdapter().is_mfa_enabled(people.ana.user)


@pytest.mark.parametrize(
    "address",
    [
        "password/reset/",
        "password/change/",
        "password/set/",
        "password/reset/key/1-set-password/",
        "reauthenticate/",
        "2fa/totp/activate/",
        "2fa/recovery-codes/",
    ],
)
def test_pages_of_what_is_not_used_here_are_not_there(client, people, address):
    assert client.get(f"/accounts/{address}").status_code == 404
    client.force_login(people.ana.user)
    answer = client.get(f"/accounts/{address}")
    assert answer.status_code == 404 and "There is nothing here" in answer.content.decode()


def test_a_superuser_with_a_password_is_not_asked_for_it_on_the_pages(client, db):
    root = User.objects.create_superuser("root@example.org", "a long enough secret")
    client.force_login(root)
    root.emailaddress_set.update(verified=True)
    assert client.get(reverse("mfa_add_webauthn")).status_code == 200


def test_a_wrong_code_is_told_and_three_of_them_end_it(client, people):
    where, _ = follow(
        client, client.post("/accounts/login/code/", {"email": people.ana.user.email})
    )
    for _ in range(2):
        page = client.post(where, {"code": "WRONG"}).content.decode()
        assert "not the code of the newest e-mail" in page
    _, last = follow(client, client.post(where, {"code": "WRONG"}))
    assert "wrong too often. Ask for a new one" in last.content.decode()
    assert 'class="notice warn"' in last.content.decode()
    assert client.get(reverse("profile")).status_code == 302


def test_another_code_can_be_asked_for_and_the_first_is_void(client, people):
    sent = {"email": people.ana.user.email}
    where, _ = follow(client, client.post("/accounts/login/code/", sent))
    first = code_from_mail()
    follow(client, client.post(where, {"action": "resend"}))
    second = code_from_mail()
    assert first != second
    assert "newest e-mail" in client.post(where, {"code": first}).content.decode()
    where, _ = follow(client, client.post(where, {"code": second}))
    assert where == "/"


def test_a_code_holds_as_long_as_pages_and_mails_say(people, client):
    assert settings.ACCOUNT_LOGIN_BY_CODE_TIMEOUT == 10 * 60
    assert settings.ACCOUNT_EMAIL_VERIFICATION_BY_CODE_TIMEOUT == 10 * 60
    sent = {"email": people.ana.user.email}
    _, page = follow(client, client.post("/accounts/login/code/", sent))
    assert "ten minutes" in page.content.decode() and "ten minutes" in mail.outbox[-1].body


def test_mails_name_the_site_and_no_password(client, people):
    client.post("/accounts/signup/", {"email": people.ana.user.email})
    client.cookies.clear()
    client.post("/accounts/login/code/", {"email": "nobody@example.org"})
    client.cookies.clear()
    client.post("/accounts/signup/", {"email": "nia@example.org"})
    client.cookies.clear()
    client.post("/accounts/login/code/", {"email": people.ana.user.email})
    has_one, has_none, new, known = mail.outbox
    assert "http://testserver/accounts/login/" in has_one.body
    assert "http://testserver/accounts/signup/" in has_none.body
    for sent in mail.outbox:
        assert sent.body.rstrip().endswith("Class board\nhttp://testserver/")
        assert not re.search("password|username|example.com", sent.body, re.I)
    for sent, has_code in zip(mail.outbox, (False, False, True, True), strict=True):
        assert bool(re.search(r"^[A-Z0-9]{3,4}-?[A-Z0-9]{3,4}$", sent.body, re.M)) is has_code
    assert [sent.subject for sent in (new, known)] == ["Your code", "Your code to sign in"]


def test_an_address_is_changed_once_the_new_one_has_typed_its_code(client, people):
    user, url = people.ana.user, reverse("account_email")
    client.force_login(user)
    user.emailaddress_set.update(verified=True)
    where, answer = follow(client, client.post(url, {"action_add": "", "email": "Ana@new.example"}))
    assert "ana@new.example" in shown(answer)
    user.refresh_from_db()
    assert user.email == "ana.sol@example.org"
    where, answer = follow(client, client.post(where, {"code": code_from_mail()}))
    user.refresh_from_db()
    assert user.email == "ana@new.example" and "ana@new.example" in shown(answer)
    assert [row.email for row in user.emailaddress_set.all()] == ["ana@new.example"]
    told = [sent for sent in mail.outbox if sent.to == ["ana.sol@example.org"]]
    assert "changed from ana.sol@example.org to ana@new.example" in told[-1].body


@pytest.mark.parametrize("signed_in_before", [True, False])
def test_an_address_of_another_account_is_not_taken_over(client, people, signed_in_before):
    """That there is such an account is told only to who can read the address's mail."""
    user, url = people.ana.user, reverse("account_email")
    user.emailaddress_set.update(verified=True)
    people.ben.user.emailaddress_set.update(verified=signed_in_before)
    client.force_login(user)
    where, answer = follow(
        client, client.post(url, {"action_add": "", "email": people.ben.user.email})
    )
    assert "Another account" not in shown(answer)
    answer = client.post(where, {"code": code_from_mail()})
    assert "Another account here has that address." in shown(answer)
    user.refresh_from_db()
    assert user.email == "ana.sol@example.org"


def test_too_many_tries_are_told_on_a_page_of_this_site(client, people, settings):
    settings.ACCOUNT_RATE_LIMITS = {"login": "1/m/ip"}
    sent = {"email": people.ana.user.email}
    for _ in range(2):
        client.cookies.clear()
        answer = client.post("/accounts/login/", {"login": people.ana.user.email} | sent)
    assert answer.status_code == 429
    assert "Nothing was saved yet" in shown(answer) and "Send it again" in shown(answer)
    assert int(answer["Retry-After"]) == 60


def test_a_closed_account_is_sent_no_code(client, people):
    User.objects.filter(pk=people.ana.user.pk).update(is_active=False)
    sent = {"email": people.ana.user.email}
    client.post("/accounts/login/code/", sent)
    assert "there is no code in this mail" in mail.outbox[-1].body
    assert client.get(reverse("profile")).status_code == 302


def test_what_a_device_shows_is_the_name_of_the_site():
    assert PasskeyAdapter()._get_site_name() == "Class board"
    assert "Class board" in render_to_string(
        "account/email/base_message.txt",
        {"request": SimpleNamespace(scheme="http", get_host=lambda: "gym.example")},
    )
