"""Settings. What differs between installations comes from the environment or a file `.env`.

| variable | meaning | default |
| --- | --- | --- |
| DATABASE_URL | where the record is kept | `legbook.sqlite3` beside manage.py |
| SECRET_KEY | signs sessions | made once, kept in `.secret_key` |
| LEGBOOK_HOST | host, and port if any, that printed QR codes lead to | `localhost:8000` |
| LEGBOOK_HTTPS | the site is reached by https, behind a proxy that says so | false |
| ALLOWED_HOSTS | further host names it answers to, comma separated | none |
| DEBUG | show tracebacks to everyone; for developers only | false |
"""

import os
import secrets
from contextlib import suppress
from datetime import timedelta
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any

import dj_database_url
from csp.constants import NONE, SELF
from environs import Env

BASE_DIR = Path(__file__).resolve().parent.parent

env = Env()
env.read_env(str(BASE_DIR / ".env"), recurse=False)

# --- This installation ---------------------------------------------------------------------


def _kept_secret_key(path: Path) -> str:
    """Return the key kept at `path`; when there is none, make one that only its owner can read.

    Processes that start together end up with the same key: the first places a whole file, the
    others read it.
    """
    if not path.exists():
        # The temporary file has mode 0600 from its first byte, and the link takes it over.
        with NamedTemporaryFile("w", dir=path.parent, prefix=f"{path.name}.") as fresh:
            fresh.write(secrets.token_urlsafe(48))
            fresh.flush()
            with suppress(FileExistsError):
                os.link(fresh.name, path)
    return path.read_text().strip()


DEBUG = env.bool("DEBUG", default=False)
SECRET_KEY = env.str("SECRET_KEY", default="") or _kept_secret_key(BASE_DIR / ".secret_key")
LEGBOOK_HOST = env.str("LEGBOOK_HOST", default="localhost:8000")
LEGBOOK_HTTPS = env.bool("LEGBOOK_HTTPS", default=False)
ALLOWED_HOSTS = [
    "localhost",
    "127.0.0.1",
    "[::1]",
    LEGBOOK_HOST.partition(":")[0].lower(),
    *env.list("ALLOWED_HOSTS", default=[]),
]

# --- Parts ---------------------------------------------------------------------------------

INSTALLED_APPS = [
    "records",
    "labels",
    "api",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "rest_framework",
    "rest_framework.authtoken",
    "django_filters",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "treebeard",
    "django_htmx",
    "csp",
    "axes",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    # Nothing answers without a sign-in but what says so itself: sign-in and /healthz.
    "records.web.signing_in.AsksForSignIn",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    # Last: it turns the refusal of a sign-in into its answer.
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "records.urls"
WSGI_APPLICATION = "records.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "builtins": ["records.web.shown"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
        },
    },
]

# --- Database ------------------------------------------------------------------------------

_SQLITE_OPTIONS = {
    # A change takes the write lock when it begins; two deferred ones would wait for each other.
    "transaction_mode": "IMMEDIATE",
    # Seconds a writer waits for its turn: less than the 30 after which gunicorn ends a worker.
    "timeout": 20,
    # WAL lets readers go on while one writes. NORMAL may lose the last changes at a power cut,
    # never the consistency of the file. The cache is given in KiB, hence the minus.
    # A REPLACE fires the triggers of history for the row it removes only with the last one.
    "init_command": (
        "PRAGMA journal_mode = WAL; PRAGMA synchronous = NORMAL; PRAGMA cache_size = -65536;"
        "PRAGMA recursive_triggers = ON;"
    ),
}
_POSTGRESQL_SESSION = {
    "lock_timeout": 20_000,  # milliseconds, as on SQLite
    # What a change asks are a few rows by their index, whatever the values: a statement is planned
    # once, for a disk that doesn't seek. Planned anew each time, a joint took a third longer.
    "random_page_cost": 1.1,
    "plan_cache_mode": "force_generic_plan",
}
_POSTGRESQL_OPTIONS = {
    "options": " ".join(f"-c {name}={value}" for name, value in _POSTGRESQL_SESSION.items()),
    # Plans are kept for what is asked often: measured to take a third off a path's time.
    "server_side_binding": True,
    "prepare_threshold": 5,
}


def _database(url: str) -> dict[str, Any]:
    """Return Django's description of the database at `url`, with the options of its engine."""
    database: dict[str, Any] = dict(dj_database_url.parse(url))
    options = database.setdefault("OPTIONS", {})
    if database["ENGINE"].endswith("sqlite3"):
        options.update(_SQLITE_OPTIONS)
    else:
        options.update(_POSTGRESQL_OPTIONS)
        database.update(CONN_MAX_AGE=60, CONN_HEALTH_CHECKS=True)
    return database


DATABASES = {
    "default": _database(
        env.str("DATABASE_URL", default=f"sqlite:///{BASE_DIR / 'legbook.sqlite3'}")
    ),
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# --- People --------------------------------------------------------------------------------

LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "sign-in"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
# Ten wrong passwords for one name from one address close it for a quarter of an hour. By name
# alone, anyone could shut a colleague out; by address alone, a crew behind one router would be.
AXES_FAILURE_LIMIT = 10
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_TEMPLATE = "records/locked_out.html"
AXES_ENABLE_ADMIN = False
AXES_VERBOSE = False

# --- What a browser may do -----------------------------------------------------------------

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "object-src": [NONE],
    },
}
X_FRAME_OPTIONS = "DENY"
CSRF_FAILURE_VIEW = "records.web.signing_in.out_of_date"
if LEGBOOK_HTTPS:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_SSL_REDIRECT = True
    SECURE_REDIRECT_EXEMPT = [r"^healthz$"]
    SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365
    SESSION_COOKIE_SECURE = not DEBUG
    CSRF_COOKIE_SECURE = not DEBUG

STATIC_URL = "/static/"
# Files are served from where they stand, read once when a process starts: nothing to collect.
WHITENOISE_USE_FINDERS = True

# --- REST API ------------------------------------------------------------------------------

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        # First, because it answers 401 with the scheme to use.
        "rest_framework.authentication.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_PARSER_CLASSES": ["api.bodies.JsonParser"],
    # The browsable pages of the framework need inline scripts; /api/docs/ doesn't.
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_SCHEMA_CLASS": "api.schema.Schema",
    # JSON is all there is, so `?format=` is refused like any other unknown name.
    "URL_FORMAT_OVERRIDE": None,
    "EXCEPTION_HANDLER": "api.problems.problem_handler",
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Legbook",
    "DESCRIPTION": (BASE_DIR / "api" / "description.md").read_text(),
    "VERSION": "1",
    "SERVE_PERMISSIONS": ["rest_framework.permissions.IsAuthenticated"],
    "SERVE_INCLUDE_SCHEMA": False,
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    # Names for choices that several fields share.
    "ENUM_NAME_OVERRIDES": {
        "PlaceKind": "records.models.PlaceKind",
        "EquipmentKind": "records.models.EquipmentKind",
        "CableKind": "records.models.CableKind",
        "JointKind": "records.models.JointKind",
        "EntryKind": "records.models.EntryKind",
        "Polish": "records.models.Polish",
        "Direction": "records.models.Direction",
        "LegCondition": "records.models.LegCondition",
        "BookingState": "records.models.BookingState",
        "Role": "records.models.Role",
        "TaggedNoun": "records.models.TAGGED",
        "ConfirmableNoun": "records.models.CONFIRMABLE",
    },
}

# --- Language, time, log -------------------------------------------------------------------

LANGUAGE_CODE = "en-gb"
TIME_ZONE = "UTC"
USE_TZ = True

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    # Django's own default is silent about errors when DEBUG is off.
    "root": {"handlers": ["console"], "level": "WARNING"},
}
