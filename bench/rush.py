"""A class of thousands ends at once: ``python -m bench.rush`` (or ``make rush``).

Everything is the run's own, on loopback, and gone after it: a database beside the one of
``DATABASE_URL``, keys with a prefix of their own, gunicorn, a Celery worker where there is a
broker. It ends by itself, with status 1 if something that must be true afterwards is not.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from argparse import ArgumentParser, Namespace
from contextlib import ExitStack
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "bench.rush_settings")

WRITES, READS = ("form", "program"), ("rows", "page", "board")
MOST = {"members": 20_000, "reads": 200_000, "seconds": 900}


def _asked() -> Namespace:
    parser = ArgumentParser(prog="python -m bench.rush", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--members", type=int, default=5000, help="who log, each once")
    parser.add_argument("--reads", type=int, default=20_000, help="looks at the board")
    parser.add_argument("--seconds", type=int, default=120, help="in which all of it is asked")
    parser.add_argument("--workers", type=int, default=2, help="of gunicorn")
    parser.add_argument("--threads", type=int, default=4, help="of each of them")
    parser.add_argument(
        "--open", action="store_true", help="whoever logs by the page opens their result as well"
    )
    parser.add_argument("--json", action="store_true", help="print it for programs")
    asked = parser.parse_args()
    for name, most in MOST.items():
        if not 1 <= getattr(asked, name) <= most:
            parser.error(f"--{name} is from 1 to {most}")
    return asked


def main() -> int:
    from bench import place
    from bench.report import facts

    asked = _asked()
    print(facts(), file=sys.stderr, flush=True)
    with place.database() as environment:
        told, holds = _run(asked, environment)
    if asked.json:
        print(json.dumps(told))
    else:
        print(_text(told))
    return 0 if holds else 1


def _run(asked: Namespace, environment: dict[str, str]) -> tuple[dict[str, Any], bool]:
    from django.conf import settings

    from bench import place, rush_check, rush_scene
    from bench.processes import Watch, redis_seconds

    environment = environment | {
        "DJANGO_SETTINGS_MODULE": "bench.rush_settings", "OWN_CLOCK": "false",
    }  # fmt: skip
    scene = rush_scene.make(asked.members)
    with ExitStack() as stack:
        port, server = stack.enter_context(
            place.started(environment, workers=asked.workers, threads=asked.threads)
        )
        roots = {"gunicorn": server}
        if not settings.CELERY_TASK_ALWAYS_EAGER:
            roots["Celery"] = stack.enter_context(place.worker(environment))
        before = redis_seconds()
        with Watch(**roots) as watch:
            told = _load(asked, scene, port, environment)
        told["cost"] = {
            name: {"seconds": cost.seconds, "megabytes": cost.megabytes}
            for name, cost in watch.costs.items()
            if cost.last
        }
        if settings.REDIS_URL:
            told["cost"]["Redis"] = {"seconds": redis_seconds() - before, "megabytes": 0}
        claims = list(rush_check.claims(scene, told, port))
    told["claims"] = {claim.what: claim.wrong for claim in claims}
    told["asked"] = {name: getattr(asked, name) for name in ("members", "reads", "seconds")}
    told["acknowledged"] = sum(map(len, told["acknowledged"].values()))
    return told, not any(claim.wrong for claim in claims)


def _load(asked: Namespace, scene: Any, port: int, environment: dict[str, str]) -> dict[str, Any]:
    """Let the rush loose from a process of its own; what came of it."""
    from django.urls import reverse

    key = scene.streamed.pk
    given = {
        "members": asked.members,
        "reads": asked.reads,
        "seconds": asked.seconds,
        "open": asked.open,
        "port": port,
        "cookies": scene.cookies,
        "coach": scene.coach,
        "keys": scene.keys,
        "paths": {
            "form": reverse("class-log", args=[key]),
            "program": reverse("api-results", args=[key]),
            "rows": reverse("board-rows", args=[key]),
            "page": reverse("class-board", args=[key]),
            "board": reverse("api-board", args=[key]) + "?limit=10",
        },
    }
    done = subprocess.run(
        [sys.executable, "-m", "bench.rush_load"],
        input=json.dumps(given), capture_output=True, text=True, check=True,
        env=environment, timeout=asked.seconds + 300,
    )  # fmt: skip
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def _at(sorted_values: list[float], share: float) -> float:
    return sorted_values[min(len(sorted_values) - 1, int(share * len(sorted_values)))]


def _text(told: dict[str, Any]) -> str:
    asked, seconds = told["asked"], told["seconds"]
    lines = [
        f"{asked['members']} members logged and looked {asked['reads']} times, asked in "
        f"{asked['seconds']} s, answered in {seconds:.1f} s",
        "",
        f"{'':<22}{'answers':>8}{'a second':>10}{'p50 ms':>9}{'p99 ms':>9}{'max ms':>9}  statuses",
    ]
    groups = {"all results": WRITES, "all reads": READS}
    for name in (*groups, *WRITES, "correct", "result", *READS):
        deeds = groups.get(name, (name,))
        taken = sorted(t for deed in deeds for t in told["taken"].get(deed, []))
        if not taken:
            continue
        statuses: dict[str, int] = {}
        for deed in deeds:
            for status, count in told["statuses"].get(deed, {}).items():
                statuses[status] = statuses.get(status, 0) + count
        figures = (_at(taken, 0.5), _at(taken, 0.99), taken[-1])
        lines.append(
            f"{name:<22}{len(taken):>8}{len(taken) / seconds:>10.1f}"
            + "".join(f"{1000 * figure:>9.0f}" for figure in figures)
            + "  "
            + ", ".join(f"{status}: {count}" for status, count in sorted(statuses.items()))
        )
        if name == "all reads":
            lines[-1] += f" ({100 * statuses.get('304', 0) / len(taken):.0f} % unchanged)"
    errors = ", ".join(f"{what} {count}" for what, count in told["errors"].items())
    lines += [
        "",
        f"errors: {errors or 'none'}; asked whether a mark is right: {told['asked_first']}",
        f"the load itself: {told['cpu']:.1f} s of a core, at most {1000 * told['lateness']:.0f} ms "
        "behind its plan",
    ]
    lines += [
        f"{name}: {cost['seconds']:.1f} s of a core"
        + (f", {cost['megabytes']:.0f} MB at most" if cost["megabytes"] else "")
        for name, cost in told["cost"].items()
    ]
    lines += ["", f"{told['acknowledged']} results and corrections acknowledged; afterwards:"]
    lines += [f"  {'NO' if wrong else 'yes'}  {what}" + (f": {wrong}" if wrong else "")
              for what, wrong in told["claims"].items()]  # fmt: skip
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
