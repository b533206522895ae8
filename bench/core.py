"""The core alone: reading a workout, building its course, scoring a result."""

from __future__ import annotations

from collections.abc import Callable
from statistics import median
from time import perf_counter

from bench.report import Report
from bench.workload import WORKOUT
from scoring.core import notation
from scoring.core.breakdown import breakdown
from scoring.core.course import Course
from scoring.core.credits import parse_choices
from scoring.core.marks import parse_mark
from scoring.core.scoring import Result, Rules, score


def seconds_each(work: Callable[[], object], *, times: int, rounds: int = 7) -> float:
    """Median over rounds of the seconds one call takes."""
    taken = []
    for _ in range(rounds):
        start = perf_counter()
        for _ in range(times):
            work()
        taken.append((perf_counter() - start) / times)
    return median(taken)


def measure(report: Report) -> None:
    workout = notation.parse(WORKOUT).workout
    course, rules = Course(workout), Rules()
    result = Result(parse_mark(course, "2+9"), parse_choices(course, "tuck rock; knee push-up"), {})
    prescribed = Result(parse_mark(course, "2+9"), (), {})
    parsing = seconds_each(lambda: notation.parse(WORKOUT), times=20)
    building = seconds_each(lambda: Course(workout), times=200)
    scoring = seconds_each(lambda: score(course, result, rules), times=2000)
    plain = seconds_each(lambda: score(course, prescribed, rules), times=2000)
    opening = seconds_each(lambda: breakdown(course, result, rules), times=500)
    report.add("reading a workout's text", parsing * 1e3, "ms")
    report.add("building its course", building * 1e6, "µs")
    report.add("scoring a result with two options", scoring * 1e6, "µs", aim=100)
    report.add("scoring a result as prescribed", plain * 1e6, "µs", aim=100)
    report.add("opening its breakdown", opening * 1e6, "µs")
