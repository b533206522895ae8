"""Runs a part of the site in a process that is made to fail.

``--ahead`` puts the clock of the process some seconds forward (not the one that only ever
counts on). ``--stop-at package.module.function:N`` lets it stand still just before, or with
``:N:after`` just after, the call number N of a function, and says so by making ``--told``:
that is where it is killed. ``--set package.module.NAME=N`` makes chunks small.
"""

from __future__ import annotations

import argparse
import importlib
import json
import runpy
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import sleep

import time_machine


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("--ahead", type=int, default=0)
    asked.add_argument("--stop-at", default="")
    asked.add_argument("--told", default="")
    asked.add_argument("--set", action="append", default=[])
    asked.add_argument("what")
    asked.add_argument("rest", nargs=argparse.REMAINDER)
    given = asked.parse_args()
    if given.ahead:
        there = datetime.now(UTC) + timedelta(seconds=given.ahead)
        time_machine.travel(there, tick=True).start()
    if given.what == "gunicorn":  # it loads the site itself, in its workers
        from gunicorn.app.wsgiapp import run

        sys.argv = ["gunicorn", *given.rest]
        run()
        return
    import django
    from django.core.management import call_command

    django.setup()
    for one in given.set:
        name, number = one.split("=")
        module, constant = name.rsplit(".", 1)
        setattr(importlib.import_module(module), constant, int(number))
    if given.stop_at:
        _stand_still(given.stop_at, Path(given.told))
    if given.what == "celery":
        sys.argv = ["celery", *given.rest]
        runpy.run_module("celery", run_name="__main__")
    elif given.what == "tick":
        _tick()
    elif given.what == "command":
        call_command(*given.rest)
    else:
        name, args = given.rest
        module, function = name.rsplit(".", 1)
        found = getattr(importlib.import_module(f"tests.faults.{module}"), function)
        print(json.dumps(found(*json.loads(args))))


def _tick() -> None:
    """What beat starts, or where there is no broker the web server's own clock."""
    from celery import current_app
    from django.conf import settings

    from gymsite.clock import Clock

    current_app.loader.import_default_modules()
    started = Clock(settings.CELERY_BEAT_SCHEDULE, _start).tick(0)
    assert len(started) == len(settings.CELERY_BEAT_SCHEDULE)


def _start(name: str) -> None:
    from celery import current_app
    from django.conf import settings

    from gymsite.clock import _run

    current_app.loader.import_default_modules()
    if not settings.CELERY_TASK_ALWAYS_EAGER:
        current_app.send_task(name)
    else:
        _run(name)


def _stand_still(where: str, told: Path) -> None:
    name, number, *after = where.split(":")
    module_name, function = name.rsplit(".", 1)
    module = importlib.import_module(module_name)
    real, calls = getattr(module, function), []

    def stands_still(*args: object, **kwargs: object) -> object:
        calls.append(1)
        is_here = len(calls) == int(number)
        if is_here and not after:
            told.touch()
            sleep(600)
        made = real(*args, **kwargs)
        if is_here:
            told.touch()
            sleep(600)
        return made

    setattr(module, function, stands_still)


if __name__ == "__main__":
    main()
