"""The API's documentation as a page to try it from, served from this site alone."""

from csp.constants import SELF, UNSAFE_INLINE
from csp.decorators import csp_replace
from drf_spectacular.views import SpectacularSwaggerSplitView

# The viewer is a library's and styles itself inline; its script comes from a file.
view = csp_replace({"style-src": [SELF, UNSAFE_INLINE]})(
    SpectacularSwaggerSplitView.as_view(url_name="api-schema")
)
