"""A site of one page that shows every part; it needs no database, and no app but the one under
test."""

import threading
from pathlib import Path

import pytest
from django.conf import settings
from django.test import override_settings

HERE = Path(__file__).resolve().parent


@pytest.fixture
def sink_site():
    templates = [
        {**settings.TEMPLATES[0], "DIRS": [*settings.TEMPLATES[0]["DIRS"], HERE / "templates"]}
    ]
    # the loaders of partials stay; the processors of the project's apps, which know houses and
    # people, go
    templates[0]["OPTIONS"] = {
        **templates[0]["OPTIONS"],
        "context_processors": ["django.template.context_processors.request"],
    }
    middleware = [
        "csp.middleware.CSPMiddleware",
        "django.middleware.csrf.CsrfViewMiddleware",
        "django_htmx.middleware.HtmxMiddleware",
    ]
    with override_settings(
        ROOT_URLCONF="tests.remodel.web.urls",
        TEMPLATES=templates,
        MIDDLEWARE=middleware,
        ALLOWED_HOSTS=["*"],
    ):
        yield


@pytest.fixture
def sink_address(sink_site):
    """The page served on this machine, with its static files."""
    from django.contrib.staticfiles.handlers import StaticFilesHandler
    from django.core.servers.basehttp import ThreadedWSGIServer
    from django.core.wsgi import get_wsgi_application
    from django.test.testcases import QuietWSGIRequestHandler

    server = ThreadedWSGIServer(("127.0.0.1", 0), QuietWSGIRequestHandler)
    server.daemon_threads = True
    server.set_app(StaticFilesHandler(get_wsgi_application()))
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/sink"
    server.shutdown()
    server.server_close()
    thread.join()
