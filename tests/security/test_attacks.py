"""What strangers, curious members and other gyms try, and what comes of it."""

import json
import re
from pathlib import Path

import pytest
from django.conf import settings as site
from django.core import mail
from django.test import Client
from django.urls import get_resolver, reverse

from members.models import Membership, Role, User
from scoring.core.cells import escape_formula
from scoring.models import Fact, StreamedClass

from ..scoring.classes import log, make_class

ROOT = Path(__file__).resolve().parent.parent.parent
OUT = (
    "https://evil.example.com/", "//evil.example.com/", "/\\evil.example.com",
    "javascript:alert(1)", "http:evil.example.com", "https:///evil.example.com",
    "\thttps://evil.example.com", "https://testserver@evil.example.com/",
)  # fmt: skip


def signed_in(member):
    client = Client()
    client.force_login(member.user)
    return client


def leads_out(where):
    return "evil" in where or where.strip().lower().startswith("javascript:")


@pytest.mark.parametrize("out", OUT)
def test_no_next_leads_to_another_site(people, out):
    client = Client()
    client.post("/accounts/login/code/", {"email": people.ana.user.email, "next": out})
    code = re.search(r"^[A-Z0-9-]{7,9}$", mail.outbox[-1].body, re.M).group()
    where = client.post("/accounts/login/code/confirm/", {"code": code, "next": out}).url
    assert not leads_out(where)
    for page in (f"/accounts/login/?next={out}", f"/accounts/login/code/?next={out}"):
        answer = client.get(page)
        assert not (answer.status_code == 302 and leads_out(answer.url))
    answer = client.post("/accounts/logout/", {"next": out})
    assert answer.status_code == 302 and not leads_out(answer.url)
    for page in ("/accounts/login/", "/accounts/signup/"):
        html = Client().get(page, {"next": out}).content.decode()
        assert not re.search(r'href="(https?:)?//evil|href="javascript', html)


def test_nothing_of_ours_reads_where_to_go_from_a_call():
    """Every redirect of ours names an address of ours."""
    found = []
    for path in [*ROOT.glob("members/**/*.py"), *ROOT.glob("scoring/**/*.py")]:
        text = path.read_text(encoding="utf-8")
        if re.search(r"HTTP_REFERER|(GET|POST)(\.get\(|\[)[\"']next", text):
            found.append(path.name)
    assert found == []


def test_nothing_of_ours_fetches_an_address():
    """No server-side call to an address that somebody wrote: there is none at all."""
    calls = re.compile(
        r"^\s*(import|from) (requests|httpx|aiohttp|urllib3|urllib\.request|http\.client|socket)\b",
        re.M,
    )
    for folder in ("members", "scoring", "gymsite"):
        for path in ROOT.glob(f"{folder}/**/*.py"):
            text = path.read_text(encoding="utf-8")
            if path.name == "abandoned.py":  # looks at connections that others have opened
                text = text.replace("import socket\n", "")
                assert not re.search(r"\.(connect|send)|create_connection|socket\.socket\(", text)
            assert not calls.search(text), path


# Only names of tables, columns, indexes and pragmas that the program knows are put into these
# statements, values are given beside them; and PostgreSQL's programs are run without a shell.
LOOKED_AT = {
    "gymsite/backups/moving.py", "gymsite/backups/postgresql.py", "gymsite/backups/restoring.py",
    "gymsite/backups/rows.py", "gymsite/backups/sqlite.py", "gymsite/gently.py",
    "members/plain.py", "scoring/services/submitting.py", "scoring/services/writing.py",
    "scoring/verifying/sql.py",
}  # fmt: skip


def test_nothing_of_ours_runs_text():
    """No shell, no eval, no unpickling, no SQL put together from what was sent."""
    runs = re.compile(
        r"\b(eval|exec)\(|\bos\.(system|popen)|\bsubprocess\b|\bpickle\b|\byaml\.load\b"
        r"|\.raw\(\s*[\"'f]|\.extra\(|RawSQL|\.execute\(\s*f[\"']"
    )
    for folder in ("members", "scoring", "gymsite"):
        for path in ROOT.glob(f"{folder}/**/*.py"):
            text = path.read_text(encoding="utf-8")
            assert "shell=True" not in text, path
            if "migrations" not in path.parts and str(path.relative_to(ROOT)) not in LOOKED_AT:
                assert not runs.search(text), path


def test_nothing_of_ours_encrypts_or_hashes_weakly():
    weak = re.compile(
        r"\b(md5|sha1|crypt|RC4|DES|ECB|AES|Fernet)\b|^\s*(import|from) (random|cryptography)\b",
        re.M,
    )
    allowed = {"demo", "management"}  # an invented gym draws its people by plain chance
    for folder in ("members", "scoring", "gymsite"):
        for path in ROOT.glob(f"{folder}/**/*.py"):
            if not allowed & set(path.parts):
                found = weak.search(path.read_text(encoding="utf-8"))
                assert not found, (path, found)


def test_no_template_of_ours_marks_what_people_wrote_as_safe():
    for folder in ("members", "scoring", "gymsite"):
        for path in ROOT.glob(f"{folder}/templates/**/*.html"):
            text = path.read_text(encoding="utf-8")
            assert not re.search(r"\|\s*safe\b|autoescape off|safeseq", text), path
    for path in ROOT.glob("*/static/**/*.js"):
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write", text), path


def test_words_with_markup_stay_words(people):
    nasty = "<img src=x onerror=alert(1)>\"'&"
    people.ana.display_name = nasty
    people.ana.save()
    streamed = make_class(people)
    result = log(streamed, people.ana, "2+9", note=nasty).result
    client = signed_in(people.coach)
    for where in (
        reverse("class-board", args=[streamed.pk]),
        reverse("result", args=[result.pk]),
        reverse("class-manage", args=[streamed.pk]),
        reverse("class-review", args=[streamed.pk]),
        reverse("member-list"),
    ):
        html = client.get(where).content.decode()
        assert "<img src=x" not in html, where
    assert "&lt;img src=x" in client.get(reverse("member-list")).content.decode()


@pytest.mark.parametrize(
    "host", ["evil.example.com", "testserver.evil.example.com", "testserver:x"]
)
def test_another_host_in_the_call_is_refused(client, db, host):
    client.raise_request_exception = False
    assert client.get("/", headers={"Host": host}).status_code == 400
    sent = client.post("/accounts/login/code/", {"email": "a@example.org"}, headers={"Host": host})
    assert sent.status_code == 400 and mail.outbox == []


def test_a_forwarded_host_or_scheme_is_not_believed(client, db):
    told = client.get("/", headers={"X-Forwarded-Host": "evil.example.com"})
    assert b"evil" not in told.content
    assert not site.USE_X_FORWARDED_HOST


def test_an_address_written_by_the_caller_is_not_believed_without_a_proxy(people, rf):
    from members.limits import Limit

    request = rf.get("/", headers={"X-Forwarded-For": "203.0.113.1"})
    assert site.REST_FRAMEWORK["NUM_PROXIES"] == 0
    assert Limit("guess").get_ident(request) == "127.0.0.1"


@pytest.mark.parametrize(
    "email", ["ana@example.org\nBcc: all@example.org", "ana@example.org\r\nSubject: x", "a b@x.y"]
)
def test_no_address_adds_lines_to_a_mail(db, email):
    for where in ("/accounts/login/code/", "/accounts/signup/"):
        Client().post(where, {"email": email})
    for sent in mail.outbox:
        assert all("\n" not in to for to in sent.to) and not sent.bcc
        assert "\n" not in sent.subject


def test_a_link_in_a_mail_leads_to_the_site_that_is_set(people, settings):
    assert settings.SITE_URL.startswith("http")
    text = (ROOT / "scoring" / "messages" / "links.py").read_text(encoding="utf-8")
    assert "SITE_URL" in text and "build_absolute_uri" not in text


# --- more than one may send (mass assignment) ---------------------------------


def test_a_member_makes_nothing_of_themselves_by_sending_more(people):
    client = signed_in(people.ana)
    more = {
        "display_name": "Ana S", "role": "owner", "gym": people.stranger_gym.pk, "user": 1,
        "withheld": [], "id": people.coach.pk, "is_staff": True, "is_superuser": True,
        "email": "new@example.org", "left_at": "2026-01-01T00:00:00Z", "age_band": "x",
    }  # fmt: skip
    answer = client.patch("/api/v1/me/", json.dumps(more), content_type="application/json")
    assert answer.status_code == 200
    now = Membership.objects.get(pk=people.ana.pk)
    assert (now.display_name, now.role, now.gym, now.left_at) == (
        "Ana S",
        "member",
        people.gym,
        None,
    )
    user = User.objects.get(pk=people.ana.user.pk)
    assert (user.is_staff, user.is_superuser, user.email) == (False, False, "ana.sol@example.org")
    form = {"display_name": "Ana T", "shown_as": "name", "role": "owner", "user": 1, "gym": 2}
    client.post(reverse("profile"), form)
    assert Membership.objects.get(pk=people.ana.pk).role == "member"


def test_a_result_takes_nothing_that_is_not_the_members_to_say(people):
    streamed = make_class(people)
    more = {
        "mark": "2+9", "entered_by": people.coach.pk, "score": "999",
        "key": 10**15, "rank": 1, "credited": "999", "streamed_class": 1, "created_at": "2020-01-01",
    }  # fmt: skip

    def sent(body):
        return signed_in(people.ana).post(
            reverse("api-results", args=[streamed.pk]), json.dumps(body),
            content_type="application/json", headers={"Idempotency-Key": "x"},
        )  # fmt: skip

    assert sent(more | {"member": people.ben.pk}).status_code == 403
    assert not Fact.objects.exists()
    assert sent(more).status_code == 201
    fact = Fact.objects.get()
    assert (fact.result.member, fact.entered_by) == (people.ana, people.ana)
    honest = log(streamed, people.cleo, "2+9")
    assert honest.result.score.key == fact.result.score.key


def test_a_coach_moves_nothing_to_another_gym_by_sending_more(people):
    streamed = make_class(people, is_open=False)
    more = {"gym": people.stranger_gym.pk, "state": "closed", "created_by": people.foreign_coach.pk}
    signed_in(people.coach).patch(
        reverse("api-class-draft", args=[streamed.pk]), json.dumps(more),
        content_type="application/json",
    )  # fmt: skip
    now = StreamedClass.objects.get(pk=streamed.pk)
    assert (now.gym, now.state) == (people.gym, "draft")
    role = signed_in(people.coach).patch(
        reverse("api-member", args=[people.ben.pk]), json.dumps({"gym": 2, "display_name": "Z"}),
        content_type="application/json",
    )  # fmt: skip
    assert role.status_code in (200, 403)
    ben = Membership.objects.get(pk=people.ben.pk)
    assert (ben.display_name, ben.gym, ben.role) == ("Ben Okoro", people.gym, Role.MEMBER)


# --- what changes something is never a link ------------------------------------


def test_no_form_is_taken_from_another_site(people):
    client = Client(enforce_csrf_checks=True)
    client.force_login(people.coach.user)
    streamed = make_class(people)
    for where in (
        reverse("profile"), reverse("member-list"), reverse("class-log", args=[streamed.pk]),
        reverse("sign-out-everywhere"), reverse("device-list"), "/accounts/logout/",
    ):  # fmt: skip
        assert client.post(where, {"act": "make"}).status_code == 403, where
    sent = client.post("/api/v1/invitations/", "{}", content_type="application/json")
    assert sent.status_code == 403


def test_no_address_carries_a_session_or_a_token_of_the_api(people):
    token_in_address = {name for name in addresses() if "token" in name}
    # Links that are their own secret, one purpose each, are told in docs/security.md.
    assert {name.split("/<")[0] for name in token_in_address} == {
        "join", "calendar", "unsubscribe", "me/export", "api/v1/me/export"
    }  # fmt: skip
    made = signed_in(people.ana).post("/api/v1/tokens/").json()["token"]
    assert Client().get(f"/api/v1/me/?token={made}").status_code == 401


def addresses(resolver=None, inside=""):
    for pattern in (resolver or get_resolver()).url_patterns:
        route = inside + str(pattern.pattern)
        if hasattr(pattern, "url_patterns"):
            if not route.startswith(("accounts/", "admin/")):
                yield from addresses(pattern, route)
        elif "<str:token>" in route:
            yield route


# --- files -----------------------------------------------------------------------


@pytest.mark.parametrize(
    "body",
    [
        b"PK\x03\x04" + b"\x00" * 200,
        b"\x89PNG\r\n\x1a\n" + b"\x00" * 200,
        b"MZ\x90\x00" + b"\x00" * 90,
    ],
    ids=["an archive", "a picture", "a program"],
)
def test_a_file_that_is_no_table_is_refused_in_words(people, body):
    from django.core.files.uploadedfile import SimpleUploadedFile

    streamed = make_class(people)
    sent = SimpleUploadedFile("../../results.csv", body, content_type="text/csv")
    answer = signed_in(people.coach).post(
        reverse("class-import", args=[streamed.pk]), {"kind": "sheet", "file": sent}
    )
    assert answer.status_code in (200, 422)
    assert "No line of it could" in answer.content.decode() or answer.status_code == 422


# RFC 4180; OWASP ASVS 5.0.0, 1.2.10 names these first characters.
@pytest.mark.parametrize("first", ["=", "+", "-", "@", "\t", "\0"])
def test_a_field_that_a_spreadsheet_could_run_is_text(first):
    assert escape_formula(f"{first}1+1") == f"'{first}1+1"
    assert escape_formula(f"2{first}1") == f"2{first}1"


# --- deep and large ------------------------------------------------------------


def test_cross_origin_pages_read_nothing(people):
    client = signed_in(people.ana)
    told = client.get("/api/v1/me/", headers={"Origin": "https://evil.example.com"})
    assert not told.has_header("Access-Control-Allow-Origin")
    asked = client.options("/api/v1/me/", headers={
        "Origin": "https://evil.example.com", "Access-Control-Request-Method": "PATCH"
    })  # fmt: skip
    assert not asked.has_header("Access-Control-Allow-Origin")


@pytest.mark.parametrize("path", [".git/config", ".env", "var/site.sqlite3", "static/../manage.py",
                                  "static/%2e%2e/manage.py", "gymsite/settings/base.py"])  # fmt: skip
def test_nothing_of_the_checkout_is_served(client, db, path):
    assert client.get(f"/{path}").status_code == 404
