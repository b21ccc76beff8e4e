"""Settings of the tests: a fast password hash, tasks run in place, mail and cache in memory."""

from __future__ import annotations

import os
import tempfile

os.environ["HOOKSIDE_DEBUG"] = "0"
os.environ["HOOKSIDE_DEMO"] = "1"
os.environ["HOOKSIDE_SECRET_KEY"] = "only-for-tests-" + "x" * 40
os.environ.pop("HOOKSIDE_REDIS_URL", None)

from training.config.environment import read_database, read_text  # noqa: E402
from training.config.settings import *  # noqa: E402

# memory unless the run names a database: a PostgreSQL server, or a file that a worker can open too
TEST_DATABASE_URL = read_text("HOOKSIDE_TEST_DATABASE_URL")
DATABASES = {"default": read_database(TEST_DATABASE_URL or "sqlite:///:memory:", DATA_DIR)}
DATABASES["default"]["CONN_MAX_AGE"] = 0
if TEST_DATABASE_URL.startswith("sqlite"):
    DATABASES["default"]["TEST"] = {"NAME": DATABASES["default"]["NAME"]}

DEMO = False
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
CACHES = {
    name: {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "LOCATION": name} for name in ("default", "near")
}
STATIC_ROOT = None
MEDIA_ROOT = tempfile.gettempdir()
CELERY_TASK_ALWAYS_EAGER = True
CELERY_TASK_EAGER_PROPAGATES = True
