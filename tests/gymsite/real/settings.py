"""Settings of a server and a worker that tests start: on the database of the test, with a
broker of files, so that no other is needed, and a view and tasks that go wrong."""

import os
import tempfile
from pathlib import Path

from gymsite.settings.test import *  # noqa: F403
from gymsite.settings.test import CACHES, DATABASES

DATABASES["default"]["NAME"] = os.environ["REAL_DATABASE"]
REDIS_PREFIX = os.environ["REAL_PREFIX"]
CACHES["default"].setdefault("KEY_PREFIX", REDIS_PREFIX)
ROOT_URLCONF = "tests.gymsite.real.urls"

_folder = Path(os.environ.get("REAL_BROKER") or tempfile.mkdtemp())
for name in ("in", "processed", "control"):
    (_folder / name).mkdir(exist_ok=True)
CELERY_TASK_ALWAYS_EAGER = False
CELERY_BROKER_URL = "filesystem://"
CELERY_BROKER_TRANSPORT_OPTIONS = {
    "data_folder_in": str(_folder / "in"),
    "data_folder_out": str(_folder / "in"),
    "processed_folder": str(_folder / "processed"),
    "control_folder": str(_folder / "control"),
}
CELERY_IMPORTS = ["tests.gymsite.real.work"]
