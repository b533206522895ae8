"""The web server's settings: ``gunicorn -c python:gymsite.gunicorn gymsite.wsgi``.

All from the environment, as the site's own. Each worker keeps its figures in files of one
folder, from which whichever is asked for ``/metrics/`` tells the sum.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

import structlog
from gunicorn.glogging import Logger
from prometheus_client import multiprocess

from gymsite import logs, processes
from gymsite.settings.environment import env

bind = env.list("WEB_BIND", default=["127.0.0.1:8000"])
workers = env.int("WEB_WORKERS", default=2)
# More than a few threads gain nothing: they take turns at one interpreter, and each makes the
# others wait longer.
threads = env.int("WEB_THREADS", default=4)
worker_class = "gthread"
# In a rush whoever waits in line is not turned away.
backlog = 4096
worker_connections = 4000
# Seconds. A worker that is silent for it is replaced, and everybody who waits in it is cut off.
# In a rush the thread that says "alive" takes in thousands of connections beside busy others.
timeout = env.int("WEB_TIMEOUT", default=120)
# Seconds that requests under way are given when the server is stopped.
graceful_timeout = env.int("WEB_GRACEFUL", default=30)
# Seconds a connection waits for the next request. Longer than a proxy's own patience with
# an idle connection means that the proxy never sends into one that is being closed.
keepalive = env.int("WEB_KEEPALIVE", default=75)
# A worker is replaced after so many requests, a tenth more or less so that not all at once.
max_requests = env.int("WEB_MAX_REQUESTS", default=20_000)
max_requests_jitter = max_requests // 10
# Workers say that they live by touching a file; on a slow disk that alone can block them.
worker_tmp_dir = "/dev/shm" if os.path.isdir("/dev/shm") else None  # noqa: S108
proc_name = "class-board"
# A door for ordering it about, in the home directory, which a service can't write to.
control_socket_disable = True


class JsonLogger(Logger):
    """gunicorn's log, line by line like the site's own. The site tells of each request
    itself; ``WEB_ACCESS_LOG`` adds a line for those that never get to it, such as styles."""

    def access(self, resp: Any, req: Any, environ: Any, request_time: Any) -> None:
        if not wants_access_log:
            return
        structlog.get_logger("gunicorn.access").info(
            "answered",
            request=f"{environ['REQUEST_METHOD']} {logs.safe_path(environ['PATH_INFO'])}",
            code=int(str(resp.status).split(None, 1)[0]),
            bytes=getattr(resp, "sent", None),
            duration_ms=round(request_time.total_seconds() * 1000),
        )


logger_class = JsonLogger
wants_access_log = env.bool("WEB_ACCESS_LOG", default=False)
logconfig_dict = logs.logging_config(level=env.str("LOG_LEVEL", default="INFO"))

_made_here: list[str] = []


def on_starting(server: Any) -> None:
    """Make the folder of the figures, or empty it: counting begins anew with the server."""
    if processes.FOLDER not in os.environ:
        os.environ[processes.FOLDER] = tempfile.mkdtemp(prefix="class-board-")
        _made_here.append(os.environ[processes.FOLDER])
    folder = Path(os.environ[processes.FOLDER])
    folder.mkdir(parents=True, exist_ok=True)
    for file in folder.glob("*.db"):
        file.unlink()


def pre_fork(server: Any, worker: Any) -> None:
    """Give a worker the first place that is free."""
    taken = {other.place for other in server.WORKERS.values()}
    worker.place = next(place for place in range(len(taken) + 1) if place not in taken)


def post_fork(server: Any, worker: Any) -> None:
    """Before the site is loaded, and with it the first figure is made."""
    # Seconds. Whoever waits for the interpreter, the thread that takes connections in above all,
    # gets it sooner than by Python's own 0.005.
    sys.setswitchinterval(0.001)
    processes.take_place(f"web-{worker.place}")
    processes.share_figures()


def child_exit(server: Any, worker: Any) -> None:
    """What is true of a process while it lives, such as its connections, goes with it."""
    multiprocess.mark_process_dead(f"web-{worker.place}")


def on_exit(server: Any) -> None:
    for folder in _made_here:
        shutil.rmtree(folder, ignore_errors=True)
