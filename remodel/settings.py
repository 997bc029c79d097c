"""Settings; the environment is read here and nowhere else.

Three ways to run, safest first:

    local       `make run`: this machine alone, no sign-in, one household
    lan         `make run HOST=lan`: the home network as well, each device paired once by a code
    hosted      HALFBAY_MODE=hosted: sign-in; SECRET_KEY and ALLOWED_HOSTS must be given
"""

from __future__ import annotations

import json
import os
import secrets
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import dj_database_url
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent


def env_choice(name: str, choices: tuple[str, ...]) -> str:
    """One of `choices` from the environment; the first where nothing is set."""
    value = os.environ.get(name) or choices[0]
    if value not in choices:
        raise ImproperlyConfigured(f"{name} must be one of {', '.join(choices)}; it is {value!r}")
    return value


def env_number(name: str, default: int, *, most: int) -> int:
    text = os.environ.get(name) or str(default)
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= most):
        raise ImproperlyConfigured(
            f"{name} must be a whole number from 1 to {most}, for example {default}; it is {text!r}"
        )
    return int(text)


def env_list(name: str) -> list[str]:
    return [item.strip() for item in os.environ.get(name, "").split(",") if item.strip()]


def env_json(name: str, example: str) -> dict[str, Any]:
    """An object in JSON from the environment; empty where nothing is set."""
    text = os.environ.get(name) or "{}"
    try:
        value = json.loads(text)
    except ValueError:
        value = None
    if not isinstance(value, dict):
        raise ImproperlyConfigured(f"{name} must be JSON, for example {example}; it is {text!r}")
    return value


MODE = env_choice("HALFBAY_MODE", ("local", "hosted"))
HOSTED = MODE == "hosted"
LAN_HOST = "" if HOSTED else os.environ.get("HALFBAY_LAN_HOST", "")
PORT = env_number("PORT", 8000, most=65535)
# Only a proxy of ours may say where a request came from, and over what.
TRUSTED_PROXY = HOSTED and os.environ.get("TRUSTED_PROXY") == "1"
DATA_DIR = Path(os.environ.get("HALFBAY_DATA") or BASE_DIR / "var")


def check_data_dir() -> None:
    """Make the data folder, for its owner alone, and see that one can write in it."""
    # what is made in it from here on, the database too
    os.umask(0o077)
    try:
        DATA_DIR.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise ImproperlyConfigured(
            f"The data folder {DATA_DIR} cannot be made ({error.strerror}). Set HALFBAY_DATA to a "
            "folder of your own, for example HALFBAY_DATA=~/halfbay"
        ) from None
    if not os.access(DATA_DIR, os.W_OK | os.X_OK):
        raise ImproperlyConfigured(
            f"The data folder {DATA_DIR} cannot be written in. Give yourself the right to, or set "
            "HALFBAY_DATA to a folder of your own, for example HALFBAY_DATA=~/halfbay"
        )


def local_secret() -> str:
    """The secret key of this machine, made once and readable by its owner alone."""
    path = DATA_DIR / "secret-key"
    try:
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            file.write(secrets.token_urlsafe(50))
    except FileExistsError:
        pass
    return path.read_text().strip() or secrets.token_urlsafe(50)


def required(name: str) -> str:
    value = os.environ.get(name, "")
    if not value:
        raise ImproperlyConfigured(f"{name} must be set when HALFBAY_MODE is hosted")
    return value


def own_time_zone() -> str:
    """The time zone of this machine, so that a log of the evening has the right day. It is UTC when
    hosted, unless the environment names another."""
    name = os.environ.get("HALFBAY_TIME_ZONE", "")
    given = bool(name)
    if not name and not HOSTED:
        name = os.path.realpath("/etc/localtime").partition("zoneinfo/")[2]
    try:
        return ZoneInfo(name or "UTC").key
    except (ZoneInfoNotFoundError, ValueError):
        if given:
            raise ImproperlyConfigured(
                f"HALFBAY_TIME_ZONE must be a zone, for example America/Chicago; it is {name!r}"
            ) from None
        return "UTC"


DEBUG = False
check_data_dir()
SECRET_KEY = required("SECRET_KEY") if HOSTED else os.environ.get("SECRET_KEY") or local_secret()
if HOSTED and len(SECRET_KEY) < 50:
    raise ImproperlyConfigured("SECRET_KEY must have 50 characters or more, drawn at random")
if HOSTED:
    required("ALLOWED_HOSTS")
ALLOWED_HOSTS = env_list("ALLOWED_HOSTS") if HOSTED else ["localhost", "127.0.0.1", "[::1]"]
if LAN_HOST:
    ALLOWED_HOSTS.append(LAN_HOST)
CSRF_TRUSTED_ORIGINS = (
    [f"https://{host.lstrip('.')}" for host in ALLOWED_HOSTS if host != "*"] if HOSTED else []
)
if "*" in ALLOWED_HOSTS:
    raise ImproperlyConfigured("ALLOWED_HOSTS must name each host, for example halfbay.example.org")

INSTALLED_APPS = [
    "django.contrib.contenttypes",
    "django.contrib.auth",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "csp",
    "django_htmx",
    "template_partials",
    "remodel",
    "remodel.jobs",
    "remodel.history",
    "remodel.people",
    "remodel.house",
    "remodel.board",
    "remodel.work",
    "remodel.supply",
    "remodel.cards",
    *(["remodel.web"] if (BASE_DIR / "remodel" / "web" / "apps.py").exists() else []),
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "remodel.web.middleware.RequestMiddleware",
    "remodel.web.middleware.HeadMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "remodel.people.middleware.WhoIsHereMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "remodel.web.middleware.LeaveMiddleware",
]

ROOT_URLCONF = "remodel.urls"
WSGI_APPLICATION = "remodel.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "remodel.people.context.may_write",
                "remodel.people.context.kept_page",
            ]
        },
    }
]

# IMMEDIATE: a transaction that will write waits for its turn instead of failing half-way. FULL: in
# WAL, NORMAL can lose the last commits when the power goes.
SQLITE_OPTIONS: dict[str, Any] = {
    "transaction_mode": "IMMEDIATE",
    "timeout": 5,
    "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
}
DATABASES: dict[str, Any] = {
    "default": dj_database_url.parse(
        os.environ["DATABASE_URL"], conn_max_age=60, conn_health_checks=True
    )
    if os.environ.get("DATABASE_URL")
    else {"ENGINE": "django.db.backends.sqlite3", "NAME": DATA_DIR / "halfbay.sqlite3"}
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.postgresql":
    # a machine that does not answer is told as away in seconds, not in minutes
    DATABASES["default"].setdefault("OPTIONS", {}).setdefault("connect_timeout", 5)
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"]["OPTIONS"] = SQLITE_OPTIONS
    DATABASES["default"]["CONN_MAX_AGE"] = 60
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "people.Person"
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "house-list"
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 8},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ("name", "email")},
    },
]

LANGUAGE_CODE = "en-us"
USE_I18N = False
USE_TZ = True
TIME_ZONE = own_time_zone()

STATIC_URL = "/static/"
STATICFILES_DIRS = [BASE_DIR / "static"] if (BASE_DIR / "static").is_dir() else []
STATIC_ROOT = DATA_DIR / "static"
MEDIA_ROOT = DATA_DIR / "media"
# not the 0644 that storages give whatever the umask says
FILE_UPLOAD_PERMISSIONS = 0o600
FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o700
# Photos ("default") and print sets ("packs"). Where web and workers share no folder, the
# environment names another storage for each, as Django's STORAGES would.
STORAGES: dict[str, Any] = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "packs": {"BACKEND": "remodel.cards.pack_files.PackFolder"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
    **env_json("HALFBAY_STORAGES", '{"default": {"BACKEND": "..."}, "packs": {"BACKEND": "..."}}'),
}
# What is worked out again where it is gone: drawings and parts of print sets. Each process has its
# own unless the environment names one for all, as Django's CACHES would.
CACHES: dict[str, Any] = {
    "default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"},
    **env_json("HALFBAY_CACHES", '{"default": {"BACKEND": "...", "LOCATION": "..."}}'),
}

# What a browser is told. Nothing loads from anywhere else, and no script or style stands in a page.
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}
X_FRAME_OPTIONS = "DENY"
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_HTTPONLY = True
CSRF_FAILURE_VIEW = "remodel.web.errors.csrf_failure"
# Two weeks without a visit, or a password changed, ends a session; a device on the home network
# stays paired.
SESSION_COOKIE_AGE = 14 * 24 * 3600
SESSION_SAVE_EVERY_REQUEST = False
if HOSTED:
    SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = True
    SESSION_COOKIE_NAME = "__Host-sessionid"
    CSRF_COOKIE_NAME = "__Host-csrftoken"
    SECURE_SSL_REDIRECT = True
    SECURE_HSTS_SECONDS = 365 * 24 * 3600
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
    if TRUSTED_PROXY:
        SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2_000
FILE_UPLOAD_MAX_MEMORY_SIZE = 2_500_000
UPLOAD_MAX_BYTES = 20_000_000
# An archive comes in at home alone, and only where nothing was entered yet.
ARCHIVE_MAX_BYTES = 8_000_000_000
ARCHIVE_UPLOAD = "archive-restore"
PHOTO_MAX_PIXELS = 52_000_000  # phones of "48" and "50 megapixels" have a few more

MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"

CATALOGUE_FILE = BASE_DIR / "fixtures" / "catalogue.json"
METRIC_CATALOGUE_FILE = BASE_DIR / "fixtures" / "catalogue-metric.json"
DEMO_HOUSE_FILE = BASE_DIR / "fixtures" / "hollow-lane.json"

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "plain": {
            "()": "remodel.logs.UtcFormatter",
            "format": "%(asctime)sZ %(levelname)s %(name)s [%(request_id)s] %(message)s",
        }
    },
    "filters": {
        "request": {"()": "remodel.logs.RequestIdFilter"},
        "without trace": {"()": "remodel.logs.WithoutTrace"},
    },
    "handlers": {
        "console": {
            "class": "logging.StreamHandler",
            "formatter": "plain",
            "filters": ["request"],
        }
    },
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        "remodel": {"level": "INFO"},
        "fontTools": {"level": "ERROR"},
        # Anybody on the net can ask for a host that is not ours.
        "django.security.DisallowedHost": {"filters": ["without trace"]},
    },
}
