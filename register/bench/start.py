"""A new process of the register up to its first page, beside an empty Django project's."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings

from register.bench.comparison import Comparison

FIRST_PAGE = """
import os, sys
from io import BytesIO
from django.core.wsgi import get_wsgi_application
application = get_wsgi_application()
request = {
    "REQUEST_METHOD": "GET", "PATH_INFO": sys.argv[1], "SERVER_NAME": "localhost", "SERVER_PORT": "80",
    "wsgi.input": BytesIO(), "wsgi.errors": sys.stderr, "wsgi.url_scheme": "http",
}
said = []
page = b"".join(application(request, lambda status, headers: said.append(status)))
assert said == ["200 OK"], said
print(next(line for line in open("/proc/self/status") if line.startswith("VmHWM")).split()[1])
"""


def comparisons() -> Iterator[Comparison]:
    with tempfile.TemporaryDirectory() as folder:
        django_admin = [sys.executable, "-m", "django"]
        subprocess.run([*django_admin, "startproject", "empty", folder], check=True)
        empty = {"DJANGO_SETTINGS_MODULE": "empty.settings", "PYTHONPATH": folder}
        subprocess.run([*django_admin, "migrate", "-v0"], check=True, env=os.environ | empty, cwd=folder)
        ours = {"DJANGO_SETTINGS_MODULE": "register.settings", "PYTHONPATH": str(settings.BASE_DIR)}
        ways = ((ours, settings.BASE_DIR, "/sign-in/"), (empty, folder, "/admin/login/"))
        mine, least = (_first_page(*way) for way in ways)
        yield Comparison(
            "a process from its start to its first page",
            f"at most {mine // 1024} MB resident, the floor {least // 1024} MB",
            "an empty Django project and its sign-in page",
            lambda: _first_page(*ways[0]),
            lambda: _first_page(*ways[1]),
        )


def _first_page(environment: dict[str, str], folder: Path | str, path: str) -> int:
    """The most memory that the process held, in kB."""
    done = subprocess.run(
        [sys.executable, "-c", FIRST_PAGE, path],
        env=os.environ | environment, cwd=folder, check=True, capture_output=True, text=True,
    )  # fmt: skip
    return int(done.stdout)
