"""The page that shows the description of the API."""

from csp.constants import SELF
from csp.decorators import csp_update
from django.contrib.auth.decorators import login_required
from drf_spectacular.views import SpectacularSwaggerSplitView

page = SpectacularSwaggerSplitView.as_view(template_name="api/docs.html", url_name="api:schema")

# The page's icons are written into its style sheet. People without a sign-in are sent to it.
docs = csp_update({"img-src": [SELF, "data:"]})(login_required(page))
