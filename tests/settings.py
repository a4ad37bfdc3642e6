"""The project's settings, with what only tests need."""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

os.environ.setdefault("SECRET_KEY", "only for tests")

from register.settings import *  # noqa: F403
from register.settings import STORAGES, database

SCRATCH_DIR = Path(tempfile.mkdtemp(prefix="register-tests-"))
atexit.register(shutil.rmtree, SCRATCH_DIR, ignore_errors=True)
VAR_DIR = SCRATCH_DIR

# A file, not memory: then each thread of the live server has its own connection, and locks work as they do in use.
DATABASES = {
    "default": database(os.environ.get("REGISTER_TEST_DATABASE_URL") or f"sqlite:///{SCRATCH_DIR}/live.sqlite3")
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"]["TEST"] = {"NAME": str(SCRATCH_DIR / "test.sqlite3")}

ALLOWED_HOSTS = ["localhost", "127.0.0.1", "testserver"]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]  # quick, for passwords that protect nothing
STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
WHITENOISE_AUTOREFRESH = True
WHITENOISE_USE_FINDERS = True
