"""The project: settings, addresses, the look every page shares."""

from gymsite.celery import app as celery_app

__all__ = ["celery_app"]
