"""What the next page says, kept until then in a cookie that no other host can set or read."""

from django.conf import settings
from django.contrib.messages.storage.cookie import CookieStorage
from django.contrib.messages.storage.fallback import FallbackStorage
from django.contrib.messages.storage.session import SessionStorage


class HostCookieStorage(CookieStorage):
    """A name with ``__Host-`` wherever cookies go over TLS only."""

    cookie_name = ("__Host-" if settings.SESSION_COOKIE_SECURE else "") + "messages"


class MessageStorage(FallbackStorage):
    """The cookie, and the session for what is too long for it."""

    storage_classes = (HostCookieStorage, SessionStorage)
