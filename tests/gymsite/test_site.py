"""Metrics, headers, and the way into the admin pages."""

import re
from pathlib import Path

from members.models import User


def test_metrics_are_for_staff_and_the_scraper(client, people):
    assert client.get("/metrics/").status_code == 403
    client.force_login(people.owner.user)
    assert client.get("/metrics/").status_code == 403
    wrong = client.get("/metrics/", headers={"Authorization": "Bearer for-the-scrapeR"})
    assert wrong.status_code == 403
    right = client.get("/metrics/", headers={"Authorization": "Bearer for-the-scraper"})
    assert b"django_http_requests_total" in right.content
    client.force_login(User.objects.create_superuser("root@example.org"))
    assert client.get("/metrics/").status_code == 200


def test_what_asks_from_inside_is_not_sent_to_tls(client, db, settings):
    """Asked over plain http by a balancer and by Prometheus; everybody else is led away."""
    text = (Path(settings.BASE_DIR) / "gymsite/settings/production.py").read_text(encoding="utf-8")
    settings.SECURE_REDIRECT_EXEMPT = re.findall(r'r"(\^[a-z]+/)"', text)
    settings.SECURE_SSL_REDIRECT = True
    head = {"Authorization": "Bearer for-the-scraper"}
    assert client.get("/health/live/").status_code == 200
    assert client.get("/metrics/", headers=head).status_code == 200
    assert client.get("/accounts/login/").status_code == 301


def test_without_a_token_set_no_bearer_opens_the_metrics(client, db, settings):
    settings.METRICS_TOKEN = ""
    for sent in ("Bearer ", "Bearer", ""):
        assert client.get("/metrics/", headers={"Authorization": sent}).status_code == 403


def test_pages_allow_no_inline_scripts_or_styles(client, db):
    policy = client.get("/")["Content-Security-Policy"]
    assert "unsafe" not in policy
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert (
        rules["default-src"] == "'none'" and rules["script-src"] == rules["style-src"] == "'self'"
    )
    assert rules["frame-ancestors"] == "'none'" and rules["base-uri"] == "'none'"


def test_the_admin_pages_use_the_sites_own_sign_in(client, people):
    answer = client.get("/admin/login/")
    assert answer.status_code == 302 and answer.url.startswith("/accounts/login/")
    client.force_login(people.owner.user)
    assert client.get("/admin/").status_code in (302, 403)
    client.force_login(User.objects.create_superuser("root@example.org"))
    for page in ("", "members/user/", "members/gym/", "members/membership/", "members/invitation/"):
        assert client.get(f"/admin/{page}").status_code == 200
    assert client.get("/admin/members/invitation/add/").status_code == 403


def test_an_account_made_by_staff_signs_in_by_one_code(client, db):
    client.force_login(User.objects.create_superuser("root@example.org"))
    client.post("/admin/members/user/add/", {"email": "Made@example.org", "is_active": "on"})
    made = User.objects.get(email="made@example.org")
    assert not made.has_usable_password()
    assert made.emailaddress_set.get().email == "made@example.org"
