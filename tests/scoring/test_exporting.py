"""A copy of all that is kept of somebody: whole, theirs alone, and harmless to others."""

import csv
import io
import json
import re
import zipfile
from datetime import timedelta

import pytest
from django.core import mail
from django.utils import timezone

from members.bodies import save_body
from members.leaving import leave_gym
from scoring.core.cells import escape_formula
from scoring.models import DataExport, Result
from scoring.problems import Refused
from scoring.services.archive import pack
from scoring.services.classes import close_class
from scoring.services.correcting import correct_result
from scoring.services.exporting import (
    KEPT_DAYS,
    MOST_A_DAY,
    archive_for,
    ask_export,
    drop_expired,
    make_export,
)  # fmt: skip
from scoring.services.notes import add_note, strike_note
from scoring.services.own_data import own_data
from scoring.services.pains import tell_pain
from scoring.services.requests import answer_request, ask_for_change
from scoring.services.setups import save_setup
from scoring.services.submitting import ResultInput

from ..conftest import NOW
from .classes import log, make_class


@pytest.fixture
def full(people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9", "tuck rock", note="=1+1", effort=7)
    log(streamed, people.ben, "2+5", note="of ben")
    result = Result.objects.get(member=people.ana)
    correct_result(
        result=result, by=people.coach, data=ResultInput(mark="2+8", note="=1+1"),
        reason="one rep less", now=NOW,
    )  # fmt: skip
    tell_pain(streamed_class=streamed, member=people.ana, areas=["knee"], words="-stairs", now=NOW)
    save_body(membership=people.ana, year_of_birth="1987", weight="61.37", this_year=2026)
    save_setup(
        member=people.ana, pieces=["kettlebell"], loads={"kettlebell": "16"}, usual={}, unit="kg"
    )
    streamed = close_class(streamed_class=streamed, by=people.coach, now=NOW)
    request = ask_for_change(
        streamed_class=streamed, member=people.ana, data=ResultInput(mark="2+9"),
        words="it was nine", now=NOW,
    )  # fmt: skip
    answer_request(request=request, by=people.coach, accept=False, words="saw eight", now=NOW)
    add_note(member=people.ana, by=people.coach, words="keeps the ribs down now", now=NOW)
    wrong = add_note(member=people.ana, by=people.owner, words="of another day", now=NOW)
    strike_note(note=wrong, by=people.coach, why="not hers", now=NOW)
    return streamed


def files(archive):
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        assert opened.testzip() is None
        return {name: opened.read(name).decode() for name in opened.namelist()}


def copy_of(member):
    return files(pack(own_data(member.user), made=NOW))


def rows(text):
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_everything_is_in_it(full, people):
    told = json.loads(copy_of(people.ana)["all.json"])
    assert told["account"][0]["email"] == "ana.sol@example.org"
    assert told["memberships"][0]["name"] == "Ana Sol"
    assert told["body"] == [{"gym": "Harbour Street", "year_of_birth": 1987, "weight_kg": "61.37"}]
    assert told["gear"][0]["loads"] == ["kettlebell: 16 kg"]
    facts = [(r["number"], r["mark"], r["entered_by"], r["reason"]) for r in told["results"]]
    assert facts == [(1, "2+9", "me", ""), (2, "2+8", "a coach", "one rep less")]
    assert told["results"][0]["effort"] == 7 and not told["results"][0]["is_current"]
    assert any("clock stopped" in sentence for sentence in told["scores"][0]["explained"])
    assert told["pains"][0]["words"] == "-stairs"
    assert [(n["words"], n["written_by"], n["is_struck_out"]) for n in told["notes_by_coaches"]] == [
        ("keeps the ribs down now", "a coach", False), ("of another day", "a coach", True),
    ]  # fmt: skip
    assert told["notes_by_coaches"][1]["struck_because"] == "not hers"
    request = told["requests"][0]
    assert (request["words"], request["answer_words"], request["answered_by"]) == (
        "it was nine", "saw eight", "a coach",
    )  # fmt: skip


def test_nobody_else_is_named_in_it(full, people):
    for member in (people.ana, people.ben, people.coach):
        told = "\n".join(copy_of(member).values())
        others = [p for p in (people.owner, people.coach, *people.members) if p.pk != member.pk]
        for other in others:
            assert other.display_name not in told and other.user.email not in told
    assert "of ben" not in "\n".join(copy_of(people.ana).values())


def test_csv_files_say_the_same_and_nothing_in_them_runs(full, people):
    made = copy_of(people.ana)
    told = json.loads(made["all.json"])
    for name, table in told.items():
        if name == "made_at" or not table:
            continue
        read = rows(made[f"{name}.csv"])
        assert [list(row) for row in read] == [list(row) for row in table]
        for cells in read:
            assert all(cell == escape_formula(cell) for cell in cells.values())
    assert rows(made["results.csv"])[0]["note"] == "'=1+1"
    assert rows(made["pains.csv"])[0]["words"] == "'-stairs"
    assert "\r\n" in made["results.csv"]


def test_tokens_are_dates_without_secrets(people):
    from members.devices import make_token

    made = make_token(user=people.ana.user)
    told = copy_of(people.ana)["all.json"]
    assert len(json.loads(told)["tokens"]) == 1
    assert made.token not in told and made.row.token_key not in told


@pytest.fixture
def asked(full, people, client, django_capture_on_commit_callbacks):
    client.force_login(people.ana.user)
    with django_capture_on_commit_callbacks(execute=True):
        assert client.post("/me/export/").status_code == 302
    [letter] = mail.outbox
    assert letter.to == ["ana.sol@example.org"]
    return re.search(r"http://testserver(/me/export/\S+/)", letter.body)[1]


def test_the_emailed_link_opens_for_its_member_alone(asked, people, client):
    answer = client.get(asked)
    assert answer["Content-Type"] == "application/zip" and "no-store" in answer["Cache-Control"]
    assert "attachment" in answer["Content-Disposition"] and "all.json" in files(answer.content)
    client.logout()
    assert client.get(asked).status_code == 302
    for other in (people.coach, people.owner, people.ben):
        client.force_login(other.user)
        assert client.get(asked).status_code == 404
    client.force_login(people.ana.user)
    assert client.get("/me/export/" + "x" * 43 + "/").status_code == 404
    assert "was sent to" in client.get("/me/export/").content.decode()


def test_the_link_runs_out_and_the_bytes_go(asked, people, client):
    row = DataExport.objects.get()
    token = asked.rstrip("/").rsplit("/", 1)[1]
    assert row.expires_at == row.made_at + timedelta(days=KEPT_DAYS)
    just_before = row.expires_at - timedelta(seconds=1)
    assert archive_for(user=people.ana.user, token=token, now=just_before)
    assert archive_for(user=people.ana.user, token=token, now=row.expires_at) is None
    assert drop_expired(now=just_before) == 0 and drop_expired(now=row.expires_at) == 1
    row.refresh_from_db()
    assert bytes(row.archive) == b"" and row.token_hash == ""
    assert client.get(asked).status_code == 404


def test_made_twice_it_is_sent_once(full, people, django_capture_on_commit_callbacks):
    row = ask_export(user=people.ana.user, site="http://x/", now=NOW)
    assert ask_export(user=people.ana.user, site="http://x/", now=NOW).pk == row.pk
    with django_capture_on_commit_callbacks(execute=True):
        assert make_export(pk=row.pk, now=NOW) and not make_export(pk=row.pk, now=NOW)
    assert len(mail.outbox) == 1


def test_a_new_copy_ends_the_old_one(asked, people, client):
    make_export(
        pk=ask_export(user=people.ana.user, site="http://x", now=timezone.now()).pk,
        now=timezone.now(),
    )
    assert client.get(asked).status_code == 404
    assert DataExport.objects.filter(state="ready").count() == 1


def test_mail_that_cannot_be_sent_leaves_the_copy_ready(
    full, people, django_capture_on_commit_callbacks, settings
):
    settings.EMAIL_BACKEND = "tests.nowhere.Backend"
    row = ask_export(user=people.ana.user, site="http://x", now=NOW)
    with django_capture_on_commit_callbacks(execute=True):
        assert make_export(pk=row.pk, now=NOW)
    row.refresh_from_db()
    assert row.state == "ready"


def test_there_are_only_so_many_a_day(people):
    for _ in range(MOST_A_DAY):
        make_export(pk=ask_export(user=people.ana.user, site="http://x", now=NOW).pk, now=NOW)
    with pytest.raises(Refused):
        ask_export(user=people.ana.user, site="http://x", now=NOW)
    assert ask_export(user=people.ana.user, site="http://x", now=NOW + timedelta(days=1, hours=1))


def test_who_left_still_gets_a_copy_and_can_be_erased(full, people, client):
    leave_gym(membership=people.ana, now=NOW)
    client.force_login(people.ana.user)
    for address in ("/me/privacy/", "/me/export/", "/me/erase/", "/api/v1/me/export/"):
        assert client.get(address).status_code == 200
    assert json.loads(copy_of(people.ana)["all.json"])["results"]
