"""Files of results: cells to lines, and what a coach mends in them."""

import pytest

from scoring.models import Fact, Result
from scoring.problems import Refused
from scoring.services.import_mending import mend_line

from ..conftest import FOR_TIME, NOW
from .classes import make_class
from .test_importing import begin, bring_in, states


@pytest.fixture
def streamed(people):
    return make_class(people)


def test_a_file_comes_in_with_all_its_columns(streamed, people):
    run = begin(
        streamed,
        people,
        "Member;Result;Done otherwise;RPE;Splits;Comments\r\n"
        "Ana Sol;2+9;tuck rock;8;block 1 4:10;went well\r\n"
        "Ben;1+3;;;;\r\n",
        "sheet",
    )
    assert states(run) == {2: "good", 3: "doubtful"} or states(run) == {2: "good", 3: "good"}
    bring_in(run, people)
    fact = Result.objects.get(member=people.ana).current
    assert (fact.mark, fact.options, fact.effort, fact.splits, fact.note, fact.reason) == (
        "2+9", "1.2 tuck rock", 8, "block 1 4:10", "went well", "brought in from a file",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("row", "state", "column", "says"),
    [
        ("Ana Sol,2+30,,", "wrong", "mark", "3+6"),
        ("Zed Zulu,2+9,,", "wrong", "member", "Nobody here is called"),
        (",2+9,,", "wrong", "name", "no name"),
        ("Ana Sol,2+9,tukc rock,", "wrong", "options", "tuck rock"),
        ("Ana Sol,2+9,,eleven", "wrong", "effort", "0 to 10"),
        ("Ana Sol,2+9,,11", "wrong", "effort", "0 to 10"),
        ("Ana Sol,2+9,,7,,,spare", "wrong", "", "more cells"),
        ("Anna Sol,2+9,,", "doubtful", "member", "Is it them"),
        ("Ana Sol,2+9,,\"7,0\"", "good", None, ""),
    ],
)  # fmt: skip
def test_each_bad_row_says_where_and_what_would_be_right(
    streamed, people, row, state, column, says
):
    run = begin(streamed, people, f"name,mark,options,effort\n{row}\nBen Okoro,1+1,,\n", "sheet")
    line = run.lines.get(number=2)
    assert line.state == state
    told = [*line.problems, *line.doubts]
    assert [one["column"] for one in told] == ([] if column is None else [column])
    assert says in str(told)
    assert run.lines.get(number=3).state == "good"  # its neighbour is untouched


def test_a_row_is_mended_by_its_columns(streamed, people):
    run = begin(streamed, people, 'name,mark,effort\nAna Sol,2+30,12\n"Ben,1\n', "sheet")
    row, torn = run.lines.order_by("number")
    with pytest.raises(Refused, match="no such column"):
        mend_line(line=row, by=people.coach, changes={"text": "Ana 2+9"}, now=NOW)
    row = mend_line(line=row, by=people.coach, changes={"mark": "3+6", "effort": "7"}, now=NOW)
    assert (row.state, row.mark, row.effort) == ("good", "3+6", 7)
    assert torn.state == "wrong"
    torn = mend_line(
        line=torn, by=people.coach, changes={"name": "Ben Okoro", "mark": "1+1"}, now=NOW
    )
    assert torn.state == "good"
    bring_in(run, people)
    assert Fact.objects.count() == 2


def test_a_time_of_which_a_spreadsheet_made_hours_is_asked_about(people):
    streamed = make_class(people, FOR_TIME)
    run = begin(streamed, people, "name,mark\nAna Sol,12:34:00\nBen Okoro,12:40\n", "sheet")
    line = run.lines.get(number=2)
    assert (line.state, line.mark) == ("doubtful", "12:34")
    assert "spreadsheet" in line.doubts[0]["words"]
    assert mend_line(line=line, by=people.coach, accept=True, now=NOW).state == "good"


def test_a_file_in_an_old_encoding_says_how_it_was_read(streamed, people):
    people.ana.display_name = "Zoë Ländler"
    people.ana.save()
    data = "Name;Mark\nZoë Ländler;2+9\n".encode("cp1252")
    run = begin(streamed, people, data, "sheet")
    assert states(run) == {2: "good"} and "Windows-1252" in run.remarks[0]
