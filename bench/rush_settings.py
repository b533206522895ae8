"""The site's own settings, limits on calls and all, on a database and a queue of the run's own."""

import os

from gymsite.settings.base import *  # noqa: F403
from gymsite.settings.base import CELERY_BROKER_URL, DATABASES, REDIS_PREFIX

DATABASES["default"]["TEST"] = {"NAME": f"gym_bench_{os.getpid()}"}
EMAIL_BACKEND = "django.core.mail.backends.dummy.EmailBackend"
# Other workers of the same broker must not see what is put into it here, nor the other way.
if CELERY_BROKER_URL.startswith("redis"):
    CELERY_BROKER_TRANSPORT_OPTIONS = {"global_keyprefix": f"{REDIS_PREFIX}:"}
