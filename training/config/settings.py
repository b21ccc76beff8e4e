"""Every setting, from the environment; safe when nothing is set."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from training.config.environment import read_database, read_names, read_secret, read_text, read_yes

BASE_DIR = Path(__file__).resolve().parent.parent.parent

DEBUG = read_yes("HOOKSIDE_DEBUG")
DEMO = read_yes("HOOKSIDE_DEMO")  # invented people on one machine: plain http, own secret, no collected static files
AT_HOME = DEBUG or DEMO

DATA_DIR = Path(read_text("HOOKSIDE_DATA_DIR") or BASE_DIR / (".demo" if AT_HOME else "var"))
SECRET_KEY = read_secret(DATA_DIR, may_make=AT_HOME)
SECRET_KEY_FALLBACKS = read_names("HOOKSIDE_OLD_SECRET_KEYS")
ALLOWED_HOSTS = read_names("HOOKSIDE_HOSTS", "127.0.0.1,localhost,[::1]")
CSRF_TRUSTED_ORIGINS = read_names("HOOKSIDE_ORIGINS")

DATABASES = {"default": read_database(read_text("HOOKSIDE_DATABASE_URL"), DATA_DIR)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

INSTALLED_APPS = [
    "training.web.apps.WebConfig",
    "training.records.apps.RecordsConfig",
    "training.people.apps.PeopleConfig",
    "training.bank.apps.BankConfig",
    "training.drill.apps.DrillConfig",
    "training.signoff.apps.SignoffConfig",
    "training.equipment.apps.EquipmentConfig",
    "training.board.apps.BoardConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_htmx",
    "csp",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "training.web.middleware.RedirectForHtmx",  # outside the login wall, so that its redirects are turned as well
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "training.people.middleware.LeftOut",  # before the login wall: whoever has left is a stranger
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "training.web.middleware.MessagesOutOfBand",
    "training.web.middleware.BadPostAnswered",
    "training.people.middleware.CautionsFirst",
    "training.board.middleware.RecomputeWritten",
]

ROOT_URLCONF = "training.config.urls"
WSGI_APPLICATION = "training.config.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "training" / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "training.people.context.who",
                "training.board.views.top.stops",
            ],
            "builtins": [
                "django.templatetags.i18n",
                "django.templatetags.static",
                "django_htmx.templatetags.django_htmx",
                "training.web.tags",
            ],
        },
    }
]

# ---------------------------------------------------------------- people and sessions
AUTH_USER_MODEL = "people.Person"
LOGIN_URL = "people:sign_in"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "people:sign_in"
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
SESSION_COOKIE_AGE = int(timedelta(hours=12).total_seconds())  # a shift
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = not AT_HOME
SESSION_COOKIE_HTTPONLY = CSRF_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "training.web.errors.csrf_failed"

# ---------------------------------------------------------------- what the browser is told
SECURE_SSL_REDIRECT = not AT_HOME and not read_yes("HOOKSIDE_PLAIN_HTTP_INSIDE")
BEHIND_PROXY = read_yes("HOOKSIDE_BEHIND_PROXY")  # then it also says where a request comes from
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if BEHIND_PROXY else None
SECURE_HSTS_SECONDS = 0 if AT_HOME else int(timedelta(days=365).total_seconds())
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
SECURE_REDIRECT_EXEMPT = [r"^health/$"]
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'none'"],
        "script-src": ["'self'"],
        "style-src": ["'self'"],
        "img-src": ["'self'", "data:"],
        "font-src": ["'self'"],
        "connect-src": ["'self'"],
        "manifest-src": ["'self'"],
        "worker-src": ["'self'"],
        "form-action": ["'self'"],
        "frame-ancestors": ["'none'"],
        "base-uri": ["'none'"],
    }
}

# ---------------------------------------------------------------- words, times, files
LANGUAGE_CODE = "en-gb"
USE_I18N = True
LOCALE_PATHS = [BASE_DIR / "training" / "locale"]
USE_TZ = True
TIME_ZONE = "UTC"  # stored and computed; shown in the workshop's own zone
STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "training" / "static"]
STATIC_ROOT = None if AT_HOME else DATA_DIR / "static"
WHITENOISE_USE_FINDERS = AT_HOME
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if AT_HOME
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000

# ---------------------------------------------------------------- heads of the chains, kept outside the database
HEADS_DIR = Path(read_text("HOOKSIDE_HEADS_DIR")) if read_text("HOOKSIDE_HEADS_DIR") else None
SIGNING_KEY = Path(read_text("HOOKSIDE_SIGNING_KEY")) if read_text("HOOKSIDE_SIGNING_KEY") else None
ADMINS = [(address, address) for address in read_names("HOOKSIDE_ALARM_TO")]

# ---------------------------------------------------------------- the doorbell and the workers
REDIS_URL = read_text("HOOKSIDE_REDIS_URL")
CACHES = {
    "default": {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": REDIS_URL}
    if REDIS_URL
    else {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"},
    "near": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "LOCATION": "near"},  # this process, seconds
}
# due work is rows in the database; without Redis nobody hears the bell and `manage.py work` drains the rows
CELERY_BROKER_URL = REDIS_URL or "memory://"
CELERY_RESULT_BACKEND = REDIS_URL or None
CELERY_RESULT_EXPIRES = 3600
CELERY_TASK_IGNORE_RESULT = True  # results live in records; a caller may ask for one call's answer
CELERY_TASK_ACKS_LATE = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_TASK_TIME_LIMIT = 600
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TIMEZONE = "UTC"
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_WORKER_HIJACK_ROOT_LOGGER = False

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": read_text("HOOKSIDE_LOG_LEVEL", "WARNING").upper()},
}
