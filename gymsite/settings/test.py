"""Settings for the tests: the same, on databases of their own.

pytest-django reads the settings before any conftest.py, so what tests need
switched is switched here.
"""

import os
import tempfile

from gymsite.settings.base import *  # noqa: F403
from gymsite.settings.base import CACHES, DATABASES, REDIS_PREFIX, REDIS_URL, REST_FRAMEWORK

# Browser tests call the ORM beside Playwright's event loop.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")

SECRET_KEY = "tests"
ALLOWED_HOSTS = ["localhost", "127.0.0.1", "testserver"]

# A file, not memory: only a file shows what several writers do to each other.
# Named after the process, so that runs side by side don't share it.
_own = str(os.getpid())
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"]["TEST"] = {
        "NAME": os.path.join(tempfile.gettempdir(), f"gym-test-{_own}.sqlite3")
    }
else:
    DATABASES["default"]["TEST"] = {"NAME": f"gym_test_{_own}"}

REDIS_PREFIX = f"{REDIS_PREFIX}-test-{_own}"
if REDIS_URL:
    CACHES["default"]["KEY_PREFIX"] = REDIS_PREFIX

CELERY_TASK_ALWAYS_EAGER = True
CELERY_TASK_EAGER_PROPAGATES = True
# The browser tests load what a web server does; its clock must not work beside them.
OWN_CLOCK = False
# Tests that concern the moment for which a board is kept set it themselves.
BOARD_SECONDS = 0.0

EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
# Each client of a test loads the site anew; styles are looked for when they are asked for.
WHITENOISE_AUTOREFRESH = True
# Tests that concern a limit set it themselves.
REST_FRAMEWORK["DEFAULT_THROTTLE_RATES"] = {
    scope: "100000/min" for scope in REST_FRAMEWORK["DEFAULT_THROTTLE_RATES"]
}
ACCOUNT_RATE_LIMITS = False
MFA_RATE_LIMITS = False
MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN = True
LOG_LEVEL = "WARNING"
METRICS_TOKEN = "for-the-scraper"
