"""The product's settings, with a data folder of its own and static files served by their plain
names."""

import os
import tempfile

os.environ.setdefault("HALFBAY_DATA", tempfile.mkdtemp(prefix="halfbay-tests-"))

from remodel.settings import *  # noqa: F403

STORAGES["staticfiles"] = {  # noqa: F405
    "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STATIC_ROOT.mkdir(parents=True, exist_ok=True)  # noqa: F405
