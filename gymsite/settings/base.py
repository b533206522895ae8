"""Settings, all from the environment, with defaults that run on a bare machine.

Without DATABASE_URL the site keeps its data in an SQLite file; without
REDIS_URL the cache is a table and background work runs at once. The README
lists every variable.
"""

from typing import Any

from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from gymsite.logs import logging_config
from gymsite.rates import account_rate
from gymsite.settings.api import *  # noqa: F403
from gymsite.settings.environment import BASE_DIR, env
from gymsite.settings.schedule import CELERY_BEAT_SCHEDULE  # noqa: F401 - Celery reads it here

DEBUG = env.bool("DEBUG", default=False)
LOOPBACK = ["localhost", "127.0.0.1", "[::1]"]
KNOWN_KEY = "for-a-site-on-your-own-machine-only"
SECRET_KEY = env.str("SECRET_KEY", default=KNOWN_KEY)
# Keys of before, so that changing the key signs nobody out. After two weeks no session needs
# one any more; links that stop an old message do for as long as they should work.
SECRET_KEY_FALLBACKS = env.list("SECRET_KEY_FALLBACKS", default=[])
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=LOOPBACK)
if SECRET_KEY == KNOWN_KEY and not set(ALLOWED_HOSTS) <= set(LOOPBACK):
    raise ImproperlyConfigured(
        "SECRET_KEY is the one that everybody knows, and ALLOWED_HOSTS names more than this "
        "machine. Set SECRET_KEY, and DJANGO_SETTINGS_MODULE=gymsite.settings.production."
    )
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
]

MIDDLEWARE = [
    "gymsite.request_ids.RequestIdMiddleware",
    "gymsite.abandoned.AbandonedMiddleware",
    "django_prometheus.middleware.PrometheusBeforeMiddleware",
    # Before whatever may answer by itself, so that every answer has the policy.
    "csp.middleware.CSPMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "gymsite.compression.CompressionMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.http.ConditionalGetMiddleware",
    "gymsite.headers.HeadersMiddleware",
    "django.middleware.common.CommonMiddleware",
    "gymsite.errors.BodyLimitMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "members.asking.AccountMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "gymsite.request_ids.RequestLogMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
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
    # A connection is tried before it is given out: a server that restarted has closed it.
    DATABASES["default"]["ENGINE"] = "gymsite.postgresql"
    # Seconds. While the server is away whoever asks is told so soon, and the pool gives up
    # an attempt to connect soon too: its pauses double, and the next who asks begins anew.
    DATABASES["default"].setdefault("OPTIONS", {}).setdefault("connect_timeout", 3)
    DATABASES["default"]["OPTIONS"]["pool"] = {
        "min_size": 1,
        "max_size": env.int("DATABASE_POOL", default=8),
        "timeout": 5,
        "reconnect_timeout": 5,
    }

REDIS_URL = env.str("REDIS_URL", default="")
REDIS_PREFIX = env.str("REDIS_PREFIX", default="gym")
# Seconds. Nobody waits for a Redis that is away: what asked does without, or says so.
REDIS_TIMEOUTS = {"socket_connect_timeout": 1, "socket_timeout": 2}
CACHES: dict[str, dict[str, Any]] = {
    "default": (
        {
            "BACKEND": "django.core.cache.backends.redis.RedisCache",
            "LOCATION": REDIS_URL,
            "KEY_PREFIX": REDIS_PREFIX,
            "OPTIONS": REDIS_TIMEOUTS,
        }
        if REDIS_URL
        # A table and not this process's memory: sign-in limits count in the
        # cache, and there may be several processes.
        else {
            "BACKEND": "django.core.cache.backends.db.DatabaseCache",
            "LOCATION": "cache",
        }
    ),
    # Who did what how often, in this process alone; members/limits.py says why.
    "limits": {
        "BACKEND": "django.core.cache.backends.locmem.LocMemCache",
        "LOCATION": "limits",
        "OPTIONS": {"MAX_ENTRIES": 50_000},
    },
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
# Who starts a task waits for no broker: beat makes up for what was not started.
CELERY_TASK_PUBLISH_RETRY = False
CELERY_BROKER_TRANSPORT_OPTIONS = {"max_retries": 0} | (
    REDIS_TIMEOUTS if CELERY_BROKER_URL.startswith("redis") else {}
)
# Workers wait for it as long as it takes.
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_CONNECTION_MAX_RETRIES = None
# Without a broker the web server starts what beat would; see gymsite/clock.py.
OWN_CLOCK = env.bool("OWN_CLOCK", default=True)
CELERY_TIMEZONE = "UTC"
CELERY_BEAT_SCHEDULER = "gymsite.beat:Scheduler"

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
ACCOUNT_FORMS = {"request_login_code": "members.accounts.AskForCode"}
# Signing in, as the library of accounts counts it: per e-mail address, whoever asks, and
# per network address. A whole gym may sit behind one of these, hence the room.
_by_mail = env.str("THROTTLE_SIGN_IN", default="10/hour")
_by_address = env.str("THROTTLE_ADDRESS", default="60/min")
ACCOUNT_RATE_LIMITS: dict[str, str] | bool = {
    "request_login_code": (
        f"3/m/key,{account_rate(_by_mail, 'key')},{account_rate(_by_address, 'ip')}"
    ),
    "login": account_rate(_by_address, "ip"),
    "signup": account_rate(_by_address, "ip"),
    "confirm_email": f"1/10s/key,{account_rate(_by_mail, 'key')}",
}
MFA_RATE_LIMITS: dict[str, str] | bool = {"webauthn_login": account_rate(_by_address, "ip")}
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
SESSION_ENGINE = "gymsite.sessions"
SESSION_COOKIE_HTTPONLY = CSRF_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
# From the last sign-in on; who comes more often than every two weeks signs in that often.
SESSION_COOKIE_AGE = 14 * 24 * 3600
MESSAGE_STORAGE = "gymsite.messages.MessageStorage"
CSRF_FAILURE_VIEW = "gymsite.errors.csrf_failure"

# --- watching it run --------------------------------------------------------

LOG_LEVEL = env.str("LOG_LEVEL", default="INFO")
LOGGING = logging_config(level=LOG_LEVEL)
DJANGO_STRUCTLOG_IP_LOGGING_ENABLED = False
DJANGO_STRUCTLOG_USER_ID_FIELD = "pk"
# The number that RequestIdMiddleware took or made, and the same in the tasks of a request.
DJANGO_STRUCTLOG_TRUST_UPSTREAM_REQUEST_ID = True
DJANGO_STRUCTLOG_CELERY_ENABLED = True
# /metrics/ answers to staff, or to a scraper that sends this as a bearer token.
METRICS_TOKEN = env.str("METRICS_TOKEN", default="")
# Where backups are put: their age is among the figures.
BACKUP_FOLDER = env.str("BACKUP_FOLDER", default="")
# While this file is there, /health/ready/ sends a load balancer elsewhere.
DRAIN_FILE = env.str("DRAIN_FILE", default="")
# A worker of Celery answers Prometheus there.
WORKER_METRICS = env.str("WORKER_METRICS", default="")
