"""Mastbook as a server runs it."""

import gc
import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "registry.settings")
application = get_wsgi_application()

# What is loaded by now lives as long as the process: the collector need not go through it again and again. A page
# makes tens of thousands of small tuples, so the young ones are looked at less often than the default 700 would have.
gc.freeze()
gc.set_threshold(50_000, 10, 10)
