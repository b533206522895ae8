"""Boards by the API: pages, the own row, unchanged answers, and the file."""

import csv
from io import StringIO

import pytest
from django.urls import reverse

from ..conftest import add_member
from ..scoring.classes import log, make_class
from .conftest import device, problem


@pytest.fixture
def streamed(people):
    return make_class(people)


def fill(people, streamed, count):
    return [
        log(streamed, add_member(people.gym, f"Member {i:02d}"), f"{i}+0").result
        for i in range(count)
    ]


def test_pages_cover_the_board_once_with_ranks_over_the_whole(people, streamed):
    fill(people, streamed, 7)
    log(streamed, people.ana, "3+0")  # ties with one
    ana, seen = device(people.ana), []
    for offset in range(0, 8, 3):
        page = ana.get(
            reverse("api-board", args=[streamed.pk]), {"offset": offset, "limit": 3}
        ).json()
        assert page["total"] == 8 and page["own"]["name"] == "Ana Sol"
        seen += [(row["rank"], row["name"]) for row in page["rows"]]
    assert [rank for rank, _ in seen] == [1, 2, 3, 4, 4, 6, 7, 8]
    assert len({name for _, name in seen}) == 8
    near = [row["rank"] for row in page["neighbours"]]
    assert near == [2, 3, 4, 4, 6]


@pytest.mark.parametrize(
    "asked",
    [{"limit": "0"}, {"limit": "201"}, {"limit": "all"}, {"offset": "-1"}, {"view": "best"}],
)
def test_a_page_that_cannot_be_is_refused(people, streamed, asked):
    told = problem(device(people.ana).get(reverse("api-board", args=[streamed.pk]), asked), 400)
    assert told["errors"][0]["pointer"] == f"/{next(iter(asked))}"


def test_an_unchanged_board_costs_a_304(people, streamed):
    ana, where = device(people.ana), reverse("api-board", args=[streamed.pk])
    first = ana.get(where)
    again = ana.get(where, headers={"If-None-Match": first["ETag"]})
    assert again.status_code == 304 and again.content == b""
    assert ana.get(where, {"limit": 1}, headers={"If-None-Match": first["ETag"]}).status_code == 200
    assert (
        device(people.ben).get(where, headers={"If-None-Match": first["ETag"]}).status_code == 200
    )
    log(streamed, people.ben, "1+0")
    assert ana.get(where, headers={"If-None-Match": first["ETag"]}).json()["total"] == 1
    problem(ana.get(where, headers={"If-Match": '"other"'}), 412)


def test_views_rank_among_their_own(people, streamed):
    log(streamed, people.ana, "3+0", "tuck rock")
    log(streamed, people.ben, "2+0")
    ana, where = device(people.ana), reverse("api-board", args=[streamed.pk])
    only = ana.get(where, {"view": "prescribed"}).json()
    assert [(r["rank"], r["name"]) for r in only["rows"]] == [(1, "Ben Okoro")]
    assert only["own"] is None


# OWASP ASVS 5.0.0, 1.2.10: a cell that begins with = + - @ or a tab is a formula to a
# spreadsheet unless it is quoted.
def test_the_file_has_the_same_order_and_runs_nothing(people, streamed):
    for number, name in enumerate(["=1+2", "+CMD", "-3", "@SUM(A1)", "Zoë, “Z”"]):
        log(streamed, add_member(people.gym, name, email=f"m{number}@example.org"), f"{number}+0")
    ana = device(people.ana)
    answer = ana.get(reverse("api-board-csv", args=[streamed.pk]))
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert answer.streaming  # a board of any size, never all of it in memory
    sent = answer.getvalue()
    assert "attachment" in answer["Content-Disposition"] and b"\r\n" in sent
    rows = list(csv.DictReader(StringIO(sent.decode())))
    board = ana.get(reverse("api-board", args=[streamed.pk])).json()["rows"]
    assert [int(r["rank"]) for r in rows] == [r["rank"] for r in board] == [1, 2, 3, 4, 5]
    assert [r["name"] for r in rows] == ["Zoë, “Z”", "'@SUM(A1)", "'-3", "'+CMD", "'=1+2"]
    assert [r["credited_reps"] for r in rows] == [r["credited_reps"] for r in board]


def test_a_name_not_shown_is_not_in_the_file(people, streamed):
    people.ben.shown_as = "unnamed"
    people.ben.save()
    log(streamed, people.ben, "2+0")
    where = reverse("api-board-csv", args=[streamed.pk])
    assert "Okoro" not in device(people.ana).get(where).getvalue().decode()
    assert "Okoro" in device(people.coach).get(where).getvalue().decode()
    row = device(people.ana).get(reverse("api-board", args=[streamed.pk])).json()["rows"][0]
    assert row["name"] == "a member" and not row["can_open"]
