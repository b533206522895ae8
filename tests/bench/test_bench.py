"""The bench measures what it says; how fast that is, no test asks."""

from bench.core import seconds_each
from bench.report import Report
from bench.workload import WORKOUT, marks, write_results
from scoring.core import notation
from scoring.core.course import Course
from scoring.core.scoring import Rules
from scoring.core.sheet import read_sheet
from scoring.core.sheet_board import score_rows


def test_every_generated_result_can_be_scored(tmp_path):
    course = Course(notation.parse(WORKOUT).workout)
    write_results(tmp_path / "results.csv", 300)
    sheet = read_sheet((tmp_path / "results.csv").read_text(encoding="utf-8"))
    board = score_rows(course, Rules(), sheet.rows)
    assert len(board.lines) == 300 and board.problems == ()
    assert [mark for mark, _ in marks(3)] == ["0+0", "7+5", "5+10"]


def test_a_missed_aim_is_told():
    report = Report()
    report.add("slow", 120, "ms", aim=100)
    report.add("fast enough", 99, "ms", aim=100)
    report.add("too rare", 0.2, "", aim=0.25, at_least=True)
    report.add("often", 0.3, "", aim=0.25, at_least=True)
    report.add("just told", 7, "ms")
    verdicts = [line.verdict.rpartition(" ")[2] for line in report.lines]
    assert verdicts == ["MISSED", "met", "MISSED", "met", ""]
    assert len(report.text().splitlines()) == 5


def test_work_is_done_as_often_as_it_is_counted():
    done = []
    assert seconds_each(lambda: done.append(1), times=5, rounds=3) > 0
    assert len(done) == 15
