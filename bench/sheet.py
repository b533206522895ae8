"""``manage.py score`` as a whole process."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter

from bench.report import Report
from bench.workload import ROOT, write_results

LINES = 10_000


def measure(report: Report) -> None:
    with tempfile.TemporaryDirectory() as folder:
        results = Path(folder) / "results.csv"
        write_results(results, LINES)
        for name, extra in (("table", []), ("--json", ["--json"])):
            command = [sys.executable, "manage.py", "score", "examples/two-ladders.txt"]
            taken = []
            for _ in range(3):
                start = perf_counter()
                subprocess.run(
                    [*command, str(results), *extra],
                    cwd=ROOT,
                    check=True,
                    stdout=subprocess.DEVNULL,
                )
                taken.append(perf_counter() - start)
            report.add(f"manage.py score, {LINES:,} lines, {name}", median(taken), "s", aim=3)
