"""The site's own settings, with two bare views to compare with and no limits on calls."""

from gymsite.settings.base import *  # noqa: F403
from gymsite.settings.base import REST_FRAMEWORK

ROOT_URLCONF = "bench.urls"
REST_FRAMEWORK["DEFAULT_THROTTLE_RATES"] = {
    scope: "100000000/min" for scope in REST_FRAMEWORK["DEFAULT_THROTTLE_RATES"]
}
