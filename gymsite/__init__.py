"""The project: settings, addresses, the look every page shares."""

import os

# Before numpy is loaded: sums by one thread are the same to the last digit on any machine,
# and processes that share its cores don't wait for each other's threads.
os.environ["OPENBLAS_NUM_THREADS"] = "1"

from gymsite import processes

if processes.FOLDER in os.environ:
    processes.share_figures()

from gymsite.celery import app as celery_app

__all__ = ["celery_app"]
