"""The site's own settings, with two bare views to compare with and no limits on calls."""

import os

from gymsite.settings.base import *  # noqa: F403
from gymsite.settings.base import DATABASES, REST_FRAMEWORK

ROOT_URLCONF = "bench.urls"
REST_FRAMEWORK["DEFAULT_THROTTLE_RATES"] = {
    scope: "100000000/min" for scope in REST_FRAMEWORK["DEFAULT_THROTTLE_RATES"]
}
# Named after the process, so that no other database can be taken for it and dropped.
DATABASES["default"]["TEST"] = {"NAME": f"gym_bench_{os.getpid()}"}
# Nothing of a measurement may reach workers that serve somebody.
CELERY_TASK_ALWAYS_EAGER = True
