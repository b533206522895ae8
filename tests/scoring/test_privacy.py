"""What the page of privacy says is so, and private things reach nobody they must not."""

import html
import re

import pytest
from django.core import mail
from django.db import transaction
from django.test import Client

from members.bodies import BodyTold, body_of, save_body
from members.models import Invitation
from scoring import access
from scoring.core.follow_up import Reason
from scoring.models import ImportLine, ImportRun, Result
from scoring.selectors.audit import audit_of
from scoring.selectors.boards import board
from scoring.selectors.classes import class_for
from scoring.selectors.follow_up import put_away
from scoring.selectors.imports import import_for, lines_of
from scoring.selectors.levels import level_of
from scoring.selectors.notes import notes_on
from scoring.selectors.privacy import who_sees
from scoring.selectors.requests import pain_of, requests_of
from scoring.selectors.results import breakdown_for, history, result_for
from scoring.selectors.setups import setup_for
from scoring.services.classes import close_class
from scoring.services.correcting import correct_result
from scoring.services.follow_up import hide_for_good, write_letter
from scoring.services.notes import add_note
from scoring.services.own_data import own_data
from scoring.services.pains import tell_pain
from scoring.services.requests import ask_for_change
from scoring.services.setups import save_setup
from scoring.services.submitting import ResultInput

from ..addresses import SIGNS_OUT, TABLE, VIEWERS, address, rules, with_keys
from ..conftest import NOW
from .classes import log, make_class

SHOWN = ["name", "initials", "unnamed"]
# Each in a form that no page makes by itself.
NAME = "Zaphira Quill"
PLANTED = {
    "name": NAME,
    "note": "planted-note",
    "reason": "planted-reason",
    "pain": "planted-pain",
    "request": "planted-request",
    "coach_note": "planted-coach-note",
    "words": "planted-words",
    "email": "ana.sol@example.org",
    "weight": "61.37",
    "year": "1987",
}
OWN_ONLY = {"email", "weight", "year", "words"}


def tell_everything(people, shown_as):
    ana = people.ana
    ana.display_name, ana.shown_as = NAME, shown_as
    ana.save()
    streamed = make_class(people)
    log(streamed, ana, "2+9", note="planted-note", effort=9)
    log(streamed, people.ben, "2+5")
    correct_result(
        result=Result.objects.get(member=ana), by=people.coach,
        data=ResultInput(mark="2+8", note="planted-note", effort=9),
        reason="planted-reason", now=NOW,
    )  # fmt: skip
    tell_pain(streamed_class=streamed, member=ana, areas=["knee"], words="planted-pain", now=NOW)
    add_note(member=ana, by=people.coach, words="planted-coach-note", now=NOW)
    save_body(membership=ana, year_of_birth="1987", weight="61.37", this_year=2026)
    save_setup(member=ana, pieces=["kettlebell"], loads={}, usual={}, unit="kg")
    hide_for_good(member=ana, by=people.coach, reason=Reason.BEST, now=NOW)
    write_letter(
        member=ana, by=people.coach, reason=Reason.FIRST, occasion=f"class-{streamed.pk}",
        words="planted-words", key="a", now=NOW,
    )  # fmt: skip
    streamed = close_class(streamed_class=streamed, by=people.coach, now=NOW)
    ask_for_change(
        streamed_class=streamed, member=ana, data=ResultInput(mark="2+9"),
        words="planted-request", now=NOW,
    )  # fmt: skip
    streamed.refresh_from_db()
    return streamed


@pytest.mark.parametrize("shown_as", SHOWN)
def test_each_line_of_the_page_says_what_the_gate_does(people, shown_as):
    streamed = tell_everything(people, shown_as)
    ana = people.ana
    result = Result.objects.select_related("member", "current", "streamed_class").get(member=ana)

    run = ImportRun.objects.create(
        gym=people.gym, streamed_class=streamed, by=people.coach, kind="chat", state="checking"
    )
    brought_in = ImportLine.objects.create(run=run, number=1, text="Ana: 2+9", member=ana)

    def email_told(viewer):
        if viewer is None:
            return False
        client = Client()
        client.force_login(viewer.user)
        seen = (client.get("/api/v1/members/"), client.get("/coach/members/"))
        return any(PLANTED["email"] in answer.content.decode() for answer in seen)

    def facts_told(viewer):
        opened = breakdown_for(result=result, viewer=viewer)
        return opened.facts if opened else []

    gates = {
        "name": lambda v: access.may_see_class(v, streamed) and access.shown_name(v, ana) == NAME,
        "result": lambda v: (
            (shown := board(streamed_class=streamed, viewer=v, now=NOW)) is not None
            and result.pk in [row.result_id for row in shown.rows]
        ),
        "opened": lambda v: result_for(viewer=v, pk=result.pk),
        "note": lambda v: [f for f in facts_told(v) if f.note],
        "effort": lambda v: [f for f in facts_told(v) if f.effort is not None],
        "corrections": lambda v: [f for f in facts_told(v) if f.reason],
        "history": lambda v: history(member=ana, viewer=v),
        "level": lambda v: level_of(member=ana, viewer=v, now=NOW),
        "pain": lambda v: pain_of(streamed_class=streamed, member=ana, viewer=v),
        "follow_up": lambda v: (
            put_away(viewer=v, now=NOW).filter(member=ana).exists()
            or (v == ana and own_data(ana.user)["follow_ups"])
        ),
        "requests": lambda v: (
            requests_of(streamed_class=streamed, viewer=v).filter(member=ana).exists()
        ),
        "coach_notes": lambda v: notes_on(member=ana, viewer=v).exists(),
        "brought_in": lambda v: (
            (run := import_for(viewer=v, pk=brought_in.run_id)) is not None
            and lines_of(run=run, viewer=v).filter(member=ana).exists()
        ),
        "deeds": lambda v: audit_of(viewer=v, member_id=ana.pk).exists(),
        "gear": lambda v: setup_for(member=ana, viewer=v),
        "year_of_birth": lambda v: body_of(member=ana, viewer=v).year_of_birth,
        "weight": lambda v: body_of(member=ana, viewer=v).weight,
        "email": email_told,
    }
    lines = {line.key: line for line in who_sees(ana)}
    assert set(lines) == set(gates)
    for key, line in lines.items():
        gate = gates[key]
        assert bool(gate(people.cleo)) is line.classmates, (key, "class-mate")
        assert bool(gate(people.coach)) is line.coaches, (key, "coach")
        assert bool(gate(people.owner)) is line.coaches, (key, "owner")
        for outside in (None, people.foreigner, people.foreign_coach):
            assert not gate(outside), (key, "outside")
        assert key == "email" or bool(gate(ana)) is line.is_shown, (key, "themselves")


def test_a_coach_is_told_that_their_name_stands_on_their_classes(people):
    streamed = make_class(people)
    people.coach.shown_as = "unnamed"
    people.coach.save()
    [line] = [line for line in who_sees(people.coach) if line.key == "coaching"]
    assert line.classmates and class_for(viewer=people.cleo, pk=streamed.pk).coach.display_name
    assert "coaching" not in [line.key for line in who_sees(people.ana)]


@pytest.mark.parametrize("shown_as", SHOWN)
def test_the_page_shows_the_lines_in_plain_words(client, people, shown_as):
    people.ana.shown_as = shown_as
    people.ana.save()
    client.force_login(people.ana.user)
    page = html.unescape(client.get("/me/privacy/").content.decode())
    told = client.get("/api/v1/me/privacy/").json()
    assert [row["key"] for row in told] == [line.key for line in who_sees(people.ana)]
    for line in who_sees(people.ana):
        assert line.what in page and line.who in page and line.more in page


def stands_in(text, told):
    # Whole words: random tokens hold any four digits now and then.
    return re.search(rf"(?<![A-Za-z0-9]){re.escape(text)}(?![A-Za-z0-9])", told) is not None


def may_read(secret, who, shown_as):
    if who == "ana":
        # What a coach noted down stands in the copy of her data and on no page.
        return secret != "coach_note"
    if secret in OWN_ONLY:
        return False
    if who in ("coach", "owner"):
        return True
    return secret == "name" and who == "cleo" and shown_as == "name"


@pytest.mark.parametrize("who", [who for who in VIEWERS if who != "staff"])
@pytest.mark.parametrize("shown_as", SHOWN)
def test_at_no_address_does_a_private_thing_reach_whom_it_must_not(people, who, shown_as):
    """Every address there is, by its own method and read, searched for what was planted."""
    streamed = tell_everything(people, shown_as)
    scene = with_keys(people, streamed, Result.objects.get(member=people.ana))
    # A number by chance may have a year in it.
    client = Client(headers={"X-Request-ID": "not-by-chance"})
    if who != "stranger":
        client.force_login(getattr(people, who).user)
    leaks, found = [], set()
    for name in TABLE:
        for asked in {"GET"} | {method for of, method, _ in rules() if of == name}:
            is_api = name.startswith("api-")
            with transaction.atomic():
                answer = client.generic(
                    asked,
                    address(name, scene),
                    b"{}" if is_api else b"",
                    content_type="application/json"
                    if is_api
                    else "application/x-www-form-urlencoded",
                )
                told = answer.getvalue().decode("utf-8", "replace") + str(answer.headers)
                transaction.set_rollback(True)
            if name in SIGNS_OUT and who != "stranger":
                client.force_login(getattr(people, who).user)
            for secret, text in PLANTED.items():
                if stands_in(text, told):
                    found.add(secret)
                    if not may_read(secret, who, shown_as):
                        leaks.append((name, asked, secret))
            own_effort = re.search(r'"effort": ?9|<dd>[^<]*could only just keep form', told)
            if own_effort and who not in ("ana", "coach", "owner"):
                leaks.append((name, asked, "effort"))
    assert leaks == []
    # The search itself works: who may read something was found reading it.
    if who == "ana":
        assert {"name", "note", "reason", "email", "weight", "year"} <= found
    if who in ("coach", "owner"):
        assert {"name", "note", "reason", "coach_note"} <= found
    assert Invitation.objects.count() == 1


@pytest.mark.parametrize("who", ["foreigner", "cleo", "coach", "owner"])
def test_no_email_to_somebody_else_has_anything_of_hers(
    people, who, django_capture_on_commit_callbacks
):
    tell_everything(people, "unnamed")
    client = Client()
    client.force_login(getattr(people, who).user)
    with django_capture_on_commit_callbacks(execute=True):
        client.post("/me/export/")
        client.post("/me/erase/", {"results": "gone"})
    assert mail.outbox
    for letter in mail.outbox:
        assert letter.to == [getattr(people, who).user.email]
        told = letter.body + letter.subject
        assert not any(stands_in(text, told) for text in PLANTED.values())


def test_leaving_and_being_erased_by_the_pages(client, people, django_capture_on_commit_callbacks):
    client.force_login(people.ana.user)
    assert "14 days" in client.get("/me/erase/").content.decode()
    assert client.post("/me/erase/", {"act": "erase"}).status_code == 422
    with django_capture_on_commit_callbacks(execute=True):
        client.post("/me/erase/", {"act": "erase", "results": "anonymous"})
    assert "cannot be undone" in mail.outbox[0].body and "/me/erase/" in mail.outbox[0].body
    assert "You asked to be erased" in client.get("/me/privacy/").content.decode()
    client.post("/me/erase/", {"act": "keep"})
    assert "You asked to be erased" not in client.get("/me/privacy/").content.decode()
    assert client.post("/me/leave/").status_code == 302
    assert client.get("/classes/").status_code == 403
    client.force_login(people.owner.user)
    for page in ("/me/leave/", "/me/erase/"):
        assert "last owner of Harbour Street" in client.get(page).content.decode()
        answer = client.post(page, {"results": "gone"})
        assert answer.status_code == 409 and "last owner" in answer.content.decode()


def test_the_same_by_the_api(client, people):
    client.force_login(people.ana.user)
    base, kind = "/api/v1/me/", {"content_type": "application/json"}
    kept = client.put(base + "body/", {"year_of_birth": 1987, "weight_kg": "61.37"}, **kind)
    assert kept.json() == {"year_of_birth": 1987, "weight_kg": "61.37"}
    assert client.put(base + "body/", {"year_of_birth": 3000}, **kind).status_code == 422
    assert client.get(base + "export/").json()["state"] == "none"
    assert client.post(base + "export/").status_code == 202
    asked = client.post(base + "erasure/", {"results": "gone"}, **kind)
    assert asked.status_code == 202 and asked.json()["is_asked"]
    assert client.delete(base + "erasure/").status_code == 204
    assert not client.get(base + "erasure/").json()["is_asked"]
    assert client.post(base + "leave/").status_code == 204
    assert body_of(member=people.ana, viewer=people.ana) != BodyTold()
    client.force_login(people.owner.user)
    assert client.patch("/api/v1/gym/", {"shown_as_default": "initials"}, **kind).json()[
        "shown_as_default"
    ] == "initials"  # fmt: skip
    for address_, sent in ((base + "leave/", {}), (base + "erasure/", {"results": "gone"})):
        assert client.post(address_, sent, **kind).status_code == 409
