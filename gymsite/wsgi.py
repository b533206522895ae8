"""What a web server loads."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gymsite.settings.production")

application = get_wsgi_application()

from gymsite import clock  # noqa: E402 - the applications must be loaded first

clock.start()
