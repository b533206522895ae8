"""Every page there is, opened by who may see it: ours, the libraries', the admin's."""

from html.parser import HTMLParser

from django.contrib import admin
from django.urls import reverse

from ..addresses import address, rules

ACCOUNT_PAGES = (
    "account_login",
    "account_signup",
    "account_request_login_code",
    "account_inactive",
    "account_email",
    "account_logout",
    "mfa_index",
    "mfa_list_webauthn",
    "mfa_add_webauthn",
)
# A script of data is read by scripts and never run.
DATA = ("application/json",)


class Inline(HTMLParser):
    """Collects what a policy without ``unsafe-inline`` would not run or not apply."""

    def __init__(self):
        super().__init__()
        self.found = []

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag == "style":
            self.found.append("<style>")
        if tag == "script" and "src" not in given and given.get("type") not in DATA:
            self.found.append("<script>")
        for name, value in attrs:
            if name == "style" or (name.startswith("on") and len(name) > 2):
                self.found.append(f"<{tag} {name}>")
            if (value or "").strip().lower().startswith("javascript:"):
                self.found.append(f"<{tag} {name}={value}>")

    handle_startendtag = handle_starttag


def inline_in(html):
    """What of a page is inline, as texts."""
    parser = Inline()
    parser.feed(html)
    return parser.found


def own_pages(scene):
    """Addresses of this site's own that can be opened, by name."""
    for name, method, _ in rules():
        if method == "GET":
            yield name, address(name, scene)


def admin_pages():
    """The admin's start, and of each kind of row the list, the form of a new one and of one."""
    yield "/admin/"
    yield "/admin/login/"
    for model in admin.site._registry:
        base = f"admin:{model._meta.app_label}_{model._meta.model_name}"
        yield reverse(f"{base}_changelist")
        yield reverse(f"{base}_add")
        first = model._default_manager.first()
        if first is not None:
            for page in ("change", "history", "delete"):
                yield reverse(f"{base}_{page}", args=[first.pk])
