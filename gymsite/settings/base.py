"""Settings, all from the environment, with defaults that run on a bare machine.

Without DATABASE_URL the site keeps its data in an SQLite file; without
REDIS_URL the cache is a table and background work runs at once. The README
lists every variable.
"""

from datetime import timedelta
from pathlib import Path
from typing import Any

import environ
from csp.constants import NONE, SELF

from gymsite.logs import logging_config

BASE_DIR = Path(__file__).resolve().parent.parent.parent

env = environ.Env()
if (BASE_DIR / ".env").is_file():
    environ.Env.read_env(BASE_DIR / ".env")

DEBUG = env.bool("DEBUG", default=False)
# Only good enough on loopback; production.py refuses to start with it.
SECRET_KEY = env.str("SECRET_KEY", default="for-a-site-on-your-own-machine-only")
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["localhost", "127.0.0.1", "[::1]"])
# Mail has no request to tell where the site is.
SITE_URL = env.str("SITE_URL", default="http://127.0.0.1:8000")
CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[])

INSTALLED_APPS = [
    # Ours come first, so that our templates win over those of the libraries.
    "gymsite",
    "members",
    "scoring",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_cotton",
    "django_htmx",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "rest_framework",
    "knox",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "drf_standardized_errors",
    "csp",
    "django_structlog",
    "django_prometheus",
    "health_check",
]

MIDDLEWARE = [
    "django_prometheus.middleware.PrometheusBeforeMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "gymsite.compression.CompressionMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.http.ConditionalGetMiddleware",
    "django.middleware.common.CommonMiddleware",
    "gymsite.errors.BodyLimitMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django_structlog.middlewares.RequestMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "members.middleware.MembershipMiddleware",
    "django_prometheus.middleware.PrometheusAfterMiddleware",
]

ROOT_URLCONF = "gymsite.urls"
WSGI_APPLICATION = "gymsite.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "members.context.membership",
            ],
        },
    },
]

# --- where the data lives ---------------------------------------------------

SQLITE_OPTIONS: dict[str, Any] = {
    # A writer takes its lock when the transaction begins; otherwise two that
    # both read first would each wait for the other and one would fail.
    "transaction_mode": "IMMEDIATE",
    "timeout": 20,
    # FULL: a result that was answered for is on the disk, even if the power goes.
    "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;",
}

(BASE_DIR / "var" / "static").mkdir(parents=True, exist_ok=True)
DATABASES: dict[str, dict[str, Any]] = {
    "default": dict(
        env.db_url("DATABASE_URL", default=f"sqlite:///{BASE_DIR / 'var' / 'site.sqlite3'}")
    )
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"]["OPTIONS"] = SQLITE_OPTIONS
else:
    DATABASES["default"]["CONN_MAX_AGE"] = 0
    DATABASES["default"].setdefault("OPTIONS", {})["pool"] = {
        "min_size": 1,
        "max_size": env.int("DATABASE_POOL", default=8),
    }

REDIS_URL = env.str("REDIS_URL", default="")
REDIS_PREFIX = env.str("REDIS_PREFIX", default="gym")
CACHES: dict[str, dict[str, Any]] = {
    "default": (
        {
            "BACKEND": "django.core.cache.backends.redis.RedisCache",
            "LOCATION": REDIS_URL,
            "KEY_PREFIX": REDIS_PREFIX,
        }
        if REDIS_URL
        # A table and not this process's memory: sign-in limits and API
        # throttles count in the cache, and there may be several processes.
        else {
            "BACKEND": "django.core.cache.backends.db.DatabaseCache",
            "LOCATION": "cache",
        }
    )
}

# Seconds for which an open class's board may be shown as it was to all whose own result is not
# newer. A coach's change, a hidden name or an erased person is never waited for.
BOARD_SECONDS = env.float("BOARD_SECONDS", default=1.0)

CELERY_BROKER_URL = env.str("CELERY_BROKER_URL", default=REDIS_URL)
CELERY_TASK_ALWAYS_EAGER = not CELERY_BROKER_URL
# A failing task must not break the page that asked for it.
CELERY_TASK_EAGER_PROPAGATES = False
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
# Without a broker the web server starts what beat would; see gymsite/clock.py.
OWN_CLOCK = env.bool("OWN_CLOCK", default=True)
CELERY_TIMEZONE = "UTC"
CELERY_BEAT_SCHEDULE: dict[str, dict[str, Any]] = {
    # Reminders, Monday's summaries by each member's own clock, and what waited for the
    # end of quiet hours. One that was not run in time is made up for by the next.
    "messages": {
        "task": "scoring.tell_due",
        "schedule": timedelta(minutes=15),
        "options": {"expires": 900},
    },
    "close-due": {"task": "scoring.close_due", "schedule": 60.0, "options": {"expires": 60}},
    # Seconds. Without a broker, manage.py erase_due does the same from a timer.
    "erase-due": {"task": "scoring.erase_due", "schedule": 3600.0},
    # Changes of credits whose worker died. Without a broker: manage.py credit_changes.
    "credit-changes": {
        "task": "scoring.credit_changes",
        "schedule": 120.0,
        "options": {"expires": 120},
    },
    # Without a broker, manage.py imports does both from a timer.
    "go-on-imports": {
        "task": "scoring.go_on_imports",
        "schedule": 60.0,
        "options": {"expires": 60},
    },
    # The night's estimates, and those that were asked for and that nobody is at.
    # Without a broker: manage.py estimate.
    "estimate-due": {
        "task": "scoring.estimate_due",
        "schedule": 60.0,
        "options": {"expires": 60},
    },
    "clear-imports": {"task": "scoring.clear_imports", "schedule": 3600.0},
}

# --- language and time ------------------------------------------------------

LANGUAGE_CODE = "en-gb"
TIME_ZONE = "UTC"
USE_I18N = True
USE_TZ = True

# --- files ------------------------------------------------------------------

STATIC_URL = "/static/"
STATIC_ROOT = BASE_DIR / "var" / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedStaticFilesStorage"},
}
# On a developer's machine files are served from where they lie.
WHITENOISE_USE_FINDERS = True

# The largest body anyone may send; errors.BodyLimitMiddleware answers 413.
DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2000

# --- accounts ---------------------------------------------------------------

AUTH_USER_MODEL = "members.User"
AUTHENTICATION_BACKENDS = [
    "django.contrib.auth.backends.ModelBackend",
    "allauth.account.auth_backends.AuthenticationBackend",
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "/"

ACCOUNT_ADAPTER = "members.accounts.AccountAdapter"
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_LOGIN_METHODS = {"email"}
# No password among them, so that no page asks for one.
ACCOUNT_SIGNUP_FIELDS = ["email*"]
ACCOUNT_EMAIL_VERIFICATION = "mandatory"
ACCOUNT_EMAIL_VERIFICATION_BY_CODE_ENABLED = True
ACCOUNT_EMAIL_VERIFICATION_SUPPORTS_RESEND = True
ACCOUNT_LOGIN_BY_CODE_ENABLED = True
ACCOUNT_LOGIN_BY_CODE_SUPPORTS_RESEND = True
# Seconds. The pages and e-mails say "ten minutes"; mail is not always quick.
ACCOUNT_LOGIN_BY_CODE_TIMEOUT = ACCOUNT_EMAIL_VERIFICATION_BY_CODE_TIMEOUT = 600
# One address an account; another takes its place once its code was typed.
ACCOUNT_CHANGE_EMAIL = True
ACCOUNT_EMAIL_NOTIFICATIONS = True
ACCOUNT_LOGOUT_REDIRECT_URL = "/"
ACCOUNT_SESSION_REMEMBER = True
ACCOUNT_DEFAULT_HTTP_PROTOCOL = "http"
ACCOUNT_EMAIL_SUBJECT_PREFIX = ""
MFA_ADAPTER = "members.accounts.PasskeyAdapter"
MFA_SUPPORTED_TYPES = ["webauthn"]
MFA_PASSKEY_LOGIN_ENABLED = True
# Passkeys on plain http work on loopback only, and only if asked for.
MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN = env.bool("PASSKEYS_WITHOUT_TLS", default=False)
ALLAUTH_TRUSTED_PROXY_COUNT = env.int("TRUSTED_PROXIES", default=0)

EMAIL_CONFIG = env.email_url("EMAIL_URL", default="consolemail://")
vars().update(EMAIL_CONFIG)
# Seconds; a mail server that is silent for longer must not hold a worker.
EMAIL_TIMEOUT = 30
DEFAULT_FROM_EMAIL = env.str("DEFAULT_FROM_EMAIL", default="gym@localhost")

# --- what a browser may load ------------------------------------------------

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "object-src": [NONE],
    }
}
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "gymsite.errors.csrf_failure"

# --- the API ----------------------------------------------------------------

REST_FRAMEWORK: dict[str, Any] = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        # The first one's challenge header goes with a 401.
        "members.api.auth.DeviceTokens",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_PARSER_CLASSES": ["gymsite.parsers.StrictJSONParser"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_THROTTLE_CLASSES": [
        "members.api.limits.AnonLimit",
        "members.api.limits.UserLimit",
        "members.api.limits.ScopedLimit",
    ],
    "DEFAULT_THROTTLE_RATES": {
        "anon": env.str("THROTTLE_ANON", default="60/min"),
        "user": env.str("THROTTLE_USER", default="300/min"),
        # Scopes a view may name: writing a result, and the live preview.
        "submit": env.str("THROTTLE_SUBMIT", default="60/min"),
        "preview": env.str("THROTTLE_PREVIEW", default="120/min"),
        "token": env.str("THROTTLE_TOKEN", default="10/min"),
    },
    "DEFAULT_SCHEMA_CLASS": "drf_standardized_errors.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "drf_standardized_errors.handler.exception_handler",
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
    "NUM_PROXIES": ALLAUTH_TRUSTED_PROXY_COUNT,
}
_PROBLEM = "gymsite.errors.ProblemSerializer"
DRF_STANDARDIZED_ERRORS = {
    "EXCEPTION_HANDLER_CLASS": "gymsite.errors.ProblemHandler",
    "EXCEPTION_FORMATTER_CLASS": "gymsite.errors.ProblemFormatter",
    "ENABLE_IN_DEBUG_FOR_UNHANDLED_EXCEPTIONS": True,
    "ERROR_SCHEMAS": {
        code: _PROBLEM for code in ("400", "401", "403", "404", "405", "406", "415", "429", "500")
    },
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Class board",
    "DESCRIPTION": "Workouts, classes, results and fair boards.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
    "COMPONENT_SPLIT_REQUEST": True,
    # One name for choices that several fields share, two for two of the same name.
    "ENUM_NAME_OVERRIDES": {
        "ShownAsEnum": "members.models.ShownAs",
        "StateEnum": "scoring.models.State",
        "ExportStateEnum": "scoring.api.shapes_privacy.EXPORT_STATES",
        "ImportStateEnum": "scoring.models.imports.ImportRun.State",
        "ImportLineStateEnum": "scoring.models.imports.ImportLine.State",
        "ImportKindEnum": "scoring.models.imports.ImportRun.Kind",
        "EstimateRunStateEnum": "scoring.models.estimates.EstimateRun.State",
        "LetterStateEnum": "scoring.api.shapes_follow_up.LETTER_STATES",
        "DecisionEnum": "scoring.api.shapes_follow_up.DECISIONS",
        "QuestionKindEnum": "scoring.api.shapes_live.QUESTION_KINDS",
    },
    "POSTPROCESSING_HOOKS": [
        "drf_standardized_errors.openapi_hooks.postprocess_schema_enums",
        "gymsite.schema.problems_everywhere",
    ],
}
REST_KNOX = {
    "TOKEN_TTL": timedelta(days=env.int("TOKEN_DAYS", default=90)),
    "AUTO_REFRESH": False,
    "TOKEN_LIMIT_PER_USER": 20,
}

# --- watching it run --------------------------------------------------------

LOG_LEVEL = env.str("LOG_LEVEL", default="INFO")
LOGGING = logging_config(level=LOG_LEVEL)
DJANGO_STRUCTLOG_IP_LOGGING_ENABLED = False
DJANGO_STRUCTLOG_USER_ID_FIELD = "pk"
# /metrics/ answers to staff, or to a scraper that sends this as a bearer token.
METRICS_TOKEN = env.str("METRICS_TOKEN", default="")
