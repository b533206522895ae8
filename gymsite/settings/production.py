"""Settings for a site on the open network: refuses what is only good at home."""

from django.core.exceptions import ImproperlyConfigured

from gymsite.settings.base import *  # noqa: F403
from gymsite.settings.base import ALLOWED_HOSTS, SECRET_KEY, env

if len(SECRET_KEY) < 40 or SECRET_KEY.startswith("for-a-site"):
    raise ImproperlyConfigured(
        "Set SECRET_KEY to at least 40 random characters, for example with: "
        "python -c 'import secrets; print(secrets.token_urlsafe(50))'"
    )

# What stands in mails leads here; a message is stopped by one click over TLS only (RFC 8058).
SITE_URL = env.str("SITE_URL", default=f"https://{''.join(ALLOWED_HOSTS[:1]).lstrip('.')}")
if not SITE_URL.startswith("https://") or SITE_URL in ("https://", "https://*"):
    raise ImproperlyConfigured("Set SITE_URL to the address of the site, with https://.")

DEBUG = False
WHITENOISE_USE_FINDERS = False
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
ACCOUNT_DEFAULT_HTTP_PROTOCOL = "https"
MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN = False
SESSION_COOKIE_SECURE = True
CSRF_COOKIE_SECURE = True
SECURE_SSL_REDIRECT = env.bool("SSL_REDIRECT", default=True)
# Health checks and Prometheus come from inside, without TLS.
SECURE_REDIRECT_EXEMPT = [r"^health/", r"^metrics/"]
SECURE_HSTS_SECONDS = env.int("HSTS_SECONDS", default=3600)
if env.bool("BEHIND_TLS_PROXY", default=False):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
