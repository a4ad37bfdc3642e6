"""Other processes of the register on the database of a test, which must be written for them to see it."""

from __future__ import annotations

import os
from urllib.parse import quote

from django.db import connection


def environment(**more: str) -> dict[str, str]:
    """What a process needs to open the test's database."""
    settings = connection.settings_dict
    if connection.vendor == "sqlite":
        url = f"sqlite:///{settings['NAME']}"
    else:
        host = settings["HOST"] or settings["OPTIONS"]["host"]
        url = f"postgres://{settings['USER']}@/{settings['NAME']}?host={quote(host, safe='')}"
    return os.environ | {
        "DATABASE_URL": url,
        "DJANGO_SETTINGS_MODULE": "register.settings",
        "SECRET_KEY": "of a test",
        **more,
    }
