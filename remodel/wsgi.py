"""What the server calls."""

import gc
import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

__all__ = ["application", "settle"]

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "remodel.settings")


def settle() -> None:
    """Load every page, and exclude what is loaded from later garbage collections.

    Those would walk through all live objects, which made one answer in twenty three times as slow
    as the others.
    """
    assert get_resolver().url_patterns
    gc.collect()
    gc.freeze()


application = get_wsgi_application()
settle()
