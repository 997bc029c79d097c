"""Settings; the environment is read here and nowhere else.

There is no web app yet: these are what the commands need, with the safe values as the defaults.
"""

from __future__ import annotations

import os
import secrets
from pathlib import Path

BASE_DIR = Path(__file__).resolve().parent.parent

DEBUG = False
# Nothing signs anything yet, so a key for this process alone is enough when none is given.
SECRET_KEY = os.environ.get("SECRET_KEY") or secrets.token_urlsafe(50)
ALLOWED_HOSTS: list[str] = []

INSTALLED_APPS = ["remodel"]

USE_TZ = True
TIME_ZONE = "UTC"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

CATALOGUE_FILE = BASE_DIR / "fixtures" / "catalogue.json"
