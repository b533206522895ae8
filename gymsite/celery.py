"""Background work. Without a broker, tasks run at once, in the same process."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gymsite.settings.base")

app = Celery("gymsite")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
