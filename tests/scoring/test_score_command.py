"""``manage.py score``: a board from two files, with no database."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from ..conftest import FOR_TIME, TWO_LADDERS

ROOT = Path(settings.BASE_DIR)


@pytest.fixture
def run(tmp_path, capsys):
    """Run the command on texts; returns (exit status, standard output, standard error)."""

    def _run(workout, results, *args):
        board, sheet = tmp_path / "board.txt", tmp_path / "results.csv"
        board.write_text(workout, encoding="utf-8")
        if isinstance(results, str):
            results = results.encode()
        sheet.write_bytes(results)
        status = 0
        try:
            call_command("score", str(board), str(sheet), *args)
        except SystemExit as error:
            status = error.code
        except CommandError as error:
            captured = capsys.readouterr()
            return error.returncode, captured.out, str(error)
        captured = capsys.readouterr()
        return status, captured.out, captured.err

    return _run


COURSE_M = "name,mark,options\nA,12:00,\nB,12:00,tuck rock; knee push-up\nC,13:30,tuck rock; knee push-up\nD,125 reps,\n"


def test_the_worked_example_of_course_m_comes_out_in_its_order(run):
    status, out, _ = run(FOR_TIME, COURSE_M, "--json")
    board = json.loads(out)["board"]
    assert status == 0
    assert [(e["rank"], e["name"]) for e in board] == [(1, "A"), (2, "B"), (3, "D"), (4, "C")]
    adjusted = {e["name"]: e["adjusted"] for e in board}
    assert adjusted["A"] == {"text": "12:00", "reps": None, "seconds": "720"}
    assert adjusted["B"] == {"text": "13:53.7", "reps": None, "seconds": "833.684211"}
    assert adjusted["C"]["reps"] == "118.222222" and adjusted["C"]["seconds"] is None
    assert board[1]["credited_reps"] == "114" and board[1]["pace_per_minute"] == "9.5"


def test_the_json_has_the_documented_shape(run):
    sheet = "name,mark,options\nAna,2+9,tuck rock;knee push-up\nBen,banana,\n"
    status, out, _ = run(TWO_LADDERS, sheet, "--json")
    data = json.loads(out)
    assert status == 1
    entry = data["board"][0]
    assert {k: entry[k] for k in ("rank", "name", "mark", "raw_reps", "credited_reps")} == {
        "rank": 1, "name": "Ana", "mark": "2+9", "raw_reps": 189, "credited_reps": "171",
    }  # fmt: skip
    assert entry["pace_per_minute"] == "9.5" and entry["as_prescribed"] is False
    assert entry["adjusted"] == {"text": "1 round + 15", "reps": "171", "seconds": None}
    assert sum(row["reps"] for row in entry["breakdown"]) == 189
    (problem,) = data["problems"]
    assert (problem["line"], problem["column"]) == (3, "mark")
    assert problem["problem"] and problem["try"]


def test_lines_that_cannot_be_read_never_lose_the_others(run):
    sheet = "Name;Mark;Shoe size\nAna;2+9;40\nBen;99 kg;41\n;2+1;42\nCleo;1+1;43\n"
    status, out, err = run(TWO_LADDERS, sheet)
    assert status == 1
    assert "Ana" in out and "Cleo" in out and "Ben" not in out
    assert "line 3, mark" in err and "line 4" in err and "hoe size" in err


@pytest.mark.parametrize(
    ("workout", "part"),
    [("Bad\n\n5 rouns\n10 burpee", "line 3"), ("", "no workout"), ("t\n\nrest 2:00", "not scored")],
)
def test_a_workout_that_cannot_be_read_is_exit_2(run, workout, part):
    status, _, err = run(workout, "name,mark\nAna,2+9\n")
    assert status == 2 and part in err


def test_missing_files_and_two_dashes_are_told_plainly(tmp_path):
    for arguments in ((str(tmp_path / "none"), "-"), ("-", "-"), (str(tmp_path), "-")):
        with pytest.raises(CommandError) as error:
            call_command("score", *arguments)
        assert error.value.returncode == 2


@pytest.mark.parametrize("data", [b"PK\x03\x04zip", b"", b"mark\n2+9\n", b"\x00\xff\x00"])
def test_a_results_file_that_is_none_is_a_problem_not_a_crash(run, data):
    status, _, err = run(TWO_LADDERS, data)
    assert status in (1, 2) and err


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_odd_encodings_are_read(run, encoding):
    _, out, _ = run(TWO_LADDERS, "name,mark\nZoë,2+9\n".encode(encoding), "--json")
    assert json.loads(out)["board"][0]["name"] == "Zoë"


def test_formulas_stay_text_and_nothing_moves_the_cursor(run):
    status, out, _ = run(TWO_LADDERS, 'name,mark\n"=cmd|x",2+9\n"\x1b[31mred",1+0\n')
    assert status == 0 and "=cmd|x" in out and "\x1b[31m" not in out


def test_ten_thousand_lines_are_all_ranked(run):
    lines = [f"Member {i},{i % 9}+{i % 24},{'tuck rock' if i % 3 else ''}" for i in range(10_000)]
    status, out, _ = run(TWO_LADDERS, "name,mark,options\n" + "\n".join(lines))
    assert status == 0 and len(out.splitlines()) == 10_003


def test_the_examples_of_the_readme_run_as_a_command_and_from_standard_input():
    command = [sys.executable, "manage.py", "score", "examples/two-ladders.txt"]
    environment = {"PATH": "/usr/bin:/bin", "DATABASE_URL": "postgres://nobody@127.0.0.1:1/none"}
    whole = subprocess.run(
        [*command, "examples/two-ladders-results.csv"],
        cwd=ROOT, capture_output=True, text=True, env=environment, check=True,
    )  # fmt: skip
    piped = subprocess.run(
        [*command, "-"],
        cwd=ROOT, capture_output=True, text=True, env=environment, check=True,
        input=(ROOT / "examples/two-ladders-results.csv").read_text(),
    )  # fmt: skip
    assert whole.stdout == piped.stdout
    assert "1 round + 15" in whole.stdout
