"""Every answer carries its policy, no page has anything inline, and nothing personal is kept.

Facts of the standard: OWASP ASVS 5.0.0, 3.4.3 to 3.4.6, 3.4.8, 4.1.1, 14.3.2.
"""

import re

import pytest
from django.test import Client
from django.urls import reverse

from members.models import User

from ..addresses import with_keys
from ..scoring.classes import log, make_class
from .walking import ACCOUNT_PAGES, admin_pages, inline_in, own_pages

TEXTS = re.compile(r"^(text/|application/(x?html|.*\+xml|xml|javascript))")
# Renewed by asking whether they changed, and of no use if their receiver may not keep them.
KEPT_BY_RECEIVER = {
    "board-rows", "class-live", "calendar-feed", "api-board", "api-class", "api-class-live",
}  # fmt: skip


@pytest.fixture
def scene(people):
    streamed = make_class(people)
    return with_keys(people, streamed, log(streamed, people.ana, "2+9").result)


def policy_of(answer):
    told = answer["Content-Security-Policy"]
    return dict(rule.strip().partition(" ")[::2] for rule in told.split(";"))


def faults_of(answer):
    """What is wrong with an answer's headers or its page."""
    rules, wrong = policy_of(answer), []
    if "unsafe" in str(rules) or "*" in str(rules):
        wrong.append(f"policy {rules}")
    for name in ("object-src", "base-uri", "frame-ancestors", "default-src"):
        if rules.get(name) != "'none'":
            wrong.append(f"{name} is {rules.get(name)}")
    for name, value in {
        "X-Content-Type-Options": "nosniff",
        "X-Frame-Options": "DENY",
        "Referrer-Policy": "same-origin",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
    }.items():
        if answer.get(name) != value:
            wrong.append(f"{name}: {answer.get(name)}")
    if "camera=()" not in answer.get("Permissions-Policy", ""):
        wrong.append("no Permissions-Policy")
    if answer.has_header("Access-Control-Allow-Origin"):
        wrong.append("another origin may read it")
    kind = answer.get("Content-Type", "")
    if answer.getvalue() and TEXTS.match(kind) and "charset=utf-8" not in kind.lower():
        wrong.append(f"Content-Type: {kind}")
    if kind.startswith("text/html"):
        wrong += inline_in(answer.content.decode())
    return wrong


@pytest.mark.parametrize("who", ["stranger", "ana", "owner"])
def test_no_page_of_ours_is_without_its_policy_or_has_anything_inline(scene, who):
    client = Client()
    if who != "stranger":
        client.force_login(getattr(scene["people"], who).user)
    wrong, seen = {}, 0
    for name, where in own_pages(scene):
        answer = client.get(where)
        seen += answer.status_code == 200
        if faults := faults_of(answer):
            wrong[name] = (answer.status_code, faults)
    assert wrong == {}
    assert seen >= {"stranger": 8, "ana": 40, "owner": 100}[who]


def test_neither_have_the_pages_of_signing_in(client, people):
    for name in ACCOUNT_PAGES:
        assert faults_of(client.get(reverse(name))) == [], name
    client.force_login(people.ana.user)
    people.ana.user.emailaddress_set.update(verified=True)
    for name in ACCOUNT_PAGES:
        assert faults_of(client.get(reverse(name))) == [], name


def test_neither_has_the_admin(client, scene):
    client.force_login(User.objects.create_superuser("root@example.org"))
    opened = 0
    for where in admin_pages():
        answer = client.get(where)
        opened += answer.status_code == 200
        assert faults_of(answer) == [], where
    assert opened >= 40


def test_neither_has_the_page_of_the_api_and_its_script(client, db):
    page = client.get("/api/v1/docs/")
    assert page.status_code == 200 and faults_of(page) == []
    script = re.search(r'<script src="(/api/v1/docs/[^"]*)"', page.content.decode()).group(1)
    assert faults_of(client.get(script)) == []


@pytest.mark.parametrize("path", ["/nowhere/", "/api/v1/nowhere/"])
@pytest.mark.parametrize("what", ["missing", "refused", "too large", "broken"])
def test_neither_has_an_error(client, people, monkeypatch, path, what):
    is_api = path.startswith("/api/")
    client.force_login(people.ana.user)
    client.raise_request_exception = False
    if what == "missing":
        answer, status = client.get(path), 404
    elif what == "refused":
        answer, status = client.get("/api/v1/members/" if is_api else "/coach/members/"), 403
    elif what == "too large":
        answer = client.post(path, b"x" * (3 * 1024 * 1024), content_type="text/plain")
        status = 413
    else:
        monkeypatch.setattr("members.selectors.memberships", None)
        monkeypatch.setattr("members.viewer.current_membership", None)
        monkeypatch.setattr("members.api.base.current_membership", None)
        answer, status = client.get("/api/v1/me/" if is_api else "/me/"), 500
    assert answer.status_code == status
    assert faults_of(answer) == []
    assert answer.content


def test_nothing_is_kept_but_what_renews_itself(scene):
    client = Client()
    client.force_login(scene["people"].owner.user)
    kept = set()
    for name, where in own_pages(scene):
        told = client.get(where).get("Cache-Control", "")
        if "private" in told and "no-cache" in told and "no-store" not in told:
            kept.add(name)
        else:
            assert "no-store" in told, (name, told)
    assert kept == KEPT_BY_RECEIVER


def test_an_unchanged_board_still_costs_a_304(scene):
    client = Client()
    client.force_login(scene["people"].ana.user)
    where = reverse("board-rows", args=[scene["class"].pk])
    first = client.get(where)
    again = client.get(where, headers={"If-None-Match": first["ETag"]})
    assert (first.status_code, again.status_code, again.content) == (200, 304, b"")
    assert "no-cache" in again["Cache-Control"]


@pytest.mark.parametrize("page", ["account_logout", "sign-out-everywhere"])
def test_signing_out_clears_what_the_browser_kept(client, people, page):
    client.force_login(people.ana.user)
    assert "Clear-Site-Data" not in client.get(reverse(page))
    answer = client.post(reverse(page))
    assert '"storage"' in answer["Clear-Site-Data"] and '"cache"' in answer["Clear-Site-Data"]


def test_the_walk_would_find_what_is_inline():
    bad = '<p style="x"><b onclick="y()"></b><script>z</script><style>a</style>'
    bad += '<a href=" JavaScript:b"></a><script src="fine.js"></script>'
    assert inline_in(bad) == [
        "<p style>", "<b onclick>", "<script>", "<style>", "<a href= JavaScript:b>"
    ]  # fmt: skip
    assert inline_in('<script type="application/json">{}</script>') == []
