"""Measure, print one table, leave nothing behind."""

import os
import sys

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "bench.settings")


def main() -> int:
    from bench import core, estimating, forecast, sheet
    from bench.report import Report, facts

    report = Report()
    print(facts(), flush=True)
    core.measure(report)
    sheet.measure(report)
    if "--no-fit" not in sys.argv:
        forecast.measure(report)
        estimating.measure(report)
    if "--no-web" not in sys.argv:
        from bench import web

        web.measure(report)
    if "--no-million" not in sys.argv:
        from bench import million

        million.measure(report)
    print(report.text())
    return 0


sys.exit(main())
