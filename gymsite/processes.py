"""Which process this is, for the files in which processes of a machine share their figures.

Figures are kept in files of ``PROMETHEUS_MULTIPROC_DIR`` that are named after their process.
By its number there would be a file for every process there ever was, since web and task
processes are replaced all the time. A name that the next process takes over, when this one is
gone, keeps them few and goes on with what was counted.
"""

from __future__ import annotations

import os

FOLDER = "PROMETHEUS_MULTIPROC_DIR"

_place = ""


def take_place(place: str) -> None:
    """Say which place this process fills, such as ``web-0``: no two at the same time."""
    global _place
    _place = place


def name() -> str:
    """The name of this process, no two at the same time."""
    if _place:
        return _place
    from billiard.process import current_process

    index = getattr(current_process(), "index", None)  # of a child of a Celery worker
    return f"pid-{os.getpid()}" if index is None else f"task-{index}"


def share_figures() -> None:
    """Keep figures in the shared folder. Before the first of them is made."""
    from prometheus_client import values

    values.ValueClass = values.MultiProcessValue(process_identifier=name)
