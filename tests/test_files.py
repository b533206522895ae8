"""Files for spreadsheets, found among all addresses: nothing in them is run by being opened."""

import csv
import io
import zipfile

import pytest

from members.models import Membership
from scoring.core.cells import escape_formula
from scoring.selectors import board_lines, moments
from scoring.services.archive import pack
from scoring.services.own_data import own_data

from .addresses import address, rules, with_keys
from .scoring.classes import log, make_class

FILES = {"class-review-csv", "api-board-csv"}
OTHERS = ("text/html", "application/json", "application/problem+json", "text/plain",
          "application/vnd.oai.openapi", "text/calendar")  # fmt: skip

# OWASP ASVS 5.0.0, 1.2.10, and OWASP, "CSV Injection": with these a spreadsheet's cell runs.
STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", "＝", "＋", "－", "＠")
HOSTILE = ('=HYPERLINK("http://x.example")', "+1+1", "-1+1", "@SUM(A1)", "\t=1+1", "\r=1+1", "\n=1+1",
           "＝1+1", "＋1", "－1", "＠x", "fine;=1+1", "fine; -1+1", 'say "=1"', "Ana\n=1+1", "=1,=2")  # fmt: skip


def cells(text):
    """What a spreadsheet makes of a file, whether it separates by commas or by semicolons."""
    for separator in ",;\t":
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator):
            yield from row


def is_figure(cell):
    return cell.lstrip("+-").replace(".", "", 1).isdigit()


def runs(text):
    """Cells that a spreadsheet would run."""
    return [
        cell for cell in cells(text) if cell.lstrip(" ").startswith(STARTS) and not is_figure(cell)
    ]


@pytest.fixture
def scene(people):
    """A class whose members call themselves and say what a spreadsheet would run."""
    streamed = make_class(people)
    result = log(streamed, people.ana, "2+9", "tuck rock", note="=1+1", splits={1: "4:10"}).result
    for member, note in ((people.ben, "-cmd"), (people.cleo, "@x;=1+1")):
        log(streamed, member, "1+3", note=note)
    return with_keys(people, streamed, result)


def test_these_are_the_files(client, scene):
    client.force_login(scene["people"].owner.user)
    found = set()
    for name, method, _ in rules():
        if method == "GET":
            kind = client.get(address(name, scene)).headers.get("Content-Type", "").split(";")[0]
            if kind not in OTHERS and name != "metrics":
                found.add(name)
    assert found == FILES


def test_no_cell_of_any_file_begins_as_a_formula(client, scene):
    people = scene["people"]
    client.force_login(people.owner.user)
    for told in HOSTILE:
        for number, member in enumerate((people.ana, people.ben)):
            # As if the name had been kept before names were looked at.
            Membership.objects.filter(pk=member.pk).update(display_name=f"{told}{number}"[:60])
        moments.forget()
        board_lines.forget()
        for name in FILES:
            text = client.get(address(name, scene)).getvalue().decode()
            assert told.strip("\t\r\n=+-@＝＋－＠")[:3] in text
            assert runs(text) == [], name
        packed = io.BytesIO(pack(own_data(people.ana.user), made=people.gym.created_at))
        with zipfile.ZipFile(packed) as archive:
            names = [name for name in archive.namelist() if name.endswith(".csv")]
            assert len(names) > 3
            for name in names:
                assert runs(archive.read(name).decode()) == [], name


@pytest.mark.parametrize("sign", STARTS)
def test_what_is_escaped_is_still_readable(sign):
    assert escape_formula(f"{sign}1") == f"'{sign}1"
    assert escape_formula("2+9") == "2+9" and escape_formula("a; b") == "a; b"
    assert escape_formula("a-b @ 5 = 3") == "a-b @ 5 = 3"
