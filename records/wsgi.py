"""What a web server calls: `gunicorn records.wsgi`."""

import gc
import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "records.settings")

application = get_wsgi_application()

# The pages are loaded before the first is asked for. What is loaded by then lives as long as the
# process, so the collector need not walk through it again and again.
get_resolver().url_patterns  # noqa: B018 (it loads them)
gc.collect()
gc.freeze()
