"""Settings for a site on the open network: refuses what is only good at home."""

from django.core.exceptions import ImproperlyConfigured

from gymsite.settings import base
from gymsite.settings.base import *  # noqa: F403
from gymsite.settings.base import env
from gymsite.settings.refusals import Wanted, refusals

# What stands in mails leads here; a message is stopped by one click over TLS only (RFC 8058).
SITE_URL = env.str("SITE_URL", default=f"https://{''.join(base.ALLOWED_HOSTS[:1]).lstrip('.')}")
BEHIND_TLS_PROXY = env.bool("BEHIND_TLS_PROXY", default=False)
HSTS_SECONDS = env.int("HSTS_SECONDS", default=365 * 24 * 3600)

wrong = refusals(
    Wanted(
        secret_key=base.SECRET_KEY,
        older_keys=base.SECRET_KEY_FALLBACKS,
        debug=base.DEBUG,
        hosts=base.ALLOWED_HOSTS if "ALLOWED_HOSTS" in env.ENVIRON else [],
        site=SITE_URL,
        origins=base.CSRF_TRUSTED_ORIGINS,
        has_database="DATABASE_URL" in env.ENVIRON,
        database=str(base.DATABASES["default"]["NAME"]),
        mail_backend=base.EMAIL_CONFIG["EMAIL_BACKEND"],
        mail_from=base.DEFAULT_FROM_EMAIL,
        metrics_token=base.METRICS_TOKEN,
        passkeys_without_tls=base.MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN,
        behind_tls_proxy=BEHIND_TLS_PROXY,
        proxies=base.ALLAUTH_TRUSTED_PROXY_COUNT,
    )
)
if wrong:
    raise ImproperlyConfigured("This site is not safe to start.\n- " + "\n- ".join(wrong))

WHITENOISE_USE_FINDERS = False
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
ACCOUNT_DEFAULT_HTTP_PROTOCOL = "https"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = True
# No other host of the same domain can set, replace or read a cookie with this prefix.
SESSION_COOKIE_NAME = "__Host-session"
CSRF_COOKIE_NAME = "__Host-csrf"
SECURE_SSL_REDIRECT = env.bool("SSL_REDIRECT", default=True)
# Health checks and Prometheus come from inside, without TLS.
SECURE_REDIRECT_EXEMPT = [r"^health/", r"^metrics/"]
SECURE_HSTS_SECONDS = HSTS_SECONDS
SECURE_HSTS_INCLUDE_SUBDOMAINS = env.bool("HSTS_SUBDOMAINS", default=True)
# Whether browsers are told of a domain beforehand is for whoever owns all of it to decide.
SILENCED_SYSTEM_CHECKS = ["security.W021"]
if BEHIND_TLS_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
