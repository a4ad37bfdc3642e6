"""A replica that is behind: a copy of an SQLite file, in place of PostgreSQL's, which a test cannot hold back."""

from __future__ import annotations

import os
import subprocess
import sys

from django.conf import settings

PAGES = """
import os, shutil, django
django.setup()
from django.core.management import call_command
from django.test import Client
from register.models import Area, Loop, User
call_command("migrate", verbosity=0)
User.objects.create_user("planner", password="of a test", role="planner")
area = Area.objects.create(code="W", name="Works", path="Works")
Loop.objects.create(number="T-1", area=area, service="quince")
client = Client()
client.force_login(User.objects.get(), backend="django.contrib.auth.backends.ModelBackend")
from django.db import connections
connections["default"].cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
shutil.copy(os.environ["PRIMARY"], os.environ["REPLICA"])
Loop.objects.update(service="medlar")

def service():
    page = client.get("/loops/").content.decode()
    return next(text for text in ("quince", "medlar") if text in page)

print(service())
client.post("/findings/check/")
print(service())
del client.cookies["wrote"]
print(service())
"""


def test_pages_read_the_replica_and_whoever_wrote_reads_the_primary_for_a_while(tmp_path):
    primary, replica = tmp_path / "primary.sqlite3", tmp_path / "replica.sqlite3"
    environment = os.environ | {
        "DJANGO_SETTINGS_MODULE": "register.settings",
        "DEBUG": "1",
        "ALLOWED_HOSTS": "testserver",
        "VAR_DIR": str(tmp_path),
        "DATABASE_URL": f"sqlite:///{primary}",
        "REPLICA_DATABASE_URL": f"sqlite:///{replica}",
        "PRIMARY": str(primary),
        "REPLICA": str(replica),
    }
    done = subprocess.run(
        [sys.executable, "-c", PAGES], cwd=settings.BASE_DIR, env=environment, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines() == ["quince", "medlar", "quince"]
