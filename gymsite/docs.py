"""The API's documentation as a page to try it from, served from this site alone."""

from csp.constants import SELF, UNSAFE_INLINE
from csp.decorators import csp_replace
from django.views.decorators.http import require_safe
from drf_spectacular.views import SpectacularSwaggerSplitView

# The viewer is a library's and styles itself inline; its script comes from a file. It knows
# one way of being shown, so a question by OPTIONS would find nothing to answer with.
view = require_safe(
    csp_replace({"style-src": [SELF, UNSAFE_INLINE]})(
        SpectacularSwaggerSplitView.as_view(url_name="api-schema")
    )
)
