"""Measure, print one table, leave nothing behind."""

import os
import subprocess
import sys

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "bench.settings")


def main() -> int:
    from bench import core, estimating, forecast, sheet
    from bench.report import Report, facts

    given = dict(os.environ)
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
    print(report.text(), flush=True)
    if "--no-million" not in sys.argv:
        # On its own: a process has one database, and the site's is gone by now.
        return subprocess.run([sys.executable, "-m", "bench.million"], env=given).returncode
    return 0


sys.exit(main())
