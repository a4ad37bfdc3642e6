"""Sheets that were drawn before, found by what they print: a directory of PDFs that may be emptied at any time."""

from __future__ import annotations

import hashlib
import os
import tempfile
from functools import cache
from importlib.metadata import version
from pathlib import Path

from django.conf import settings

DRAWN_BY = (
    "register/sheets",
    "register/plant",
    "register/calc",
    "register/rules",
    "templates/sheets",
    "templates/loops",
)
"""What decides how a sheet looks: one changed file, and no older sheet is taken."""


@cache
def code_sha256() -> str:
    whole = hashlib.sha256(version("weasyprint").encode())
    for folder in DRAWN_BY:
        for path in sorted((settings.BASE_DIR / folder).rglob("*")):
            if path.is_file() and path.suffix != ".pyc":
                whole.update(path.read_bytes())
    return whole.hexdigest()


def place_of(facts_sha256: str) -> Path:
    """Where the sheet that prints these facts is kept, drawn or not."""
    key = hashlib.sha256(f"{code_sha256()} {facts_sha256}".encode()).hexdigest()
    return settings.VAR_DIR / "sheets" / key[:2] / key


def kept(place: Path) -> bytes | None:
    """The sheet that is kept at a place; None where there is none, or one that was damaged there."""
    try:
        stored = place.read_bytes()
    except FileNotFoundError:
        return None
    content = stored[_DIGEST:]
    return content if hashlib.sha256(content).digest() == stored[:_DIGEST] else None


def keep(place: Path, content: bytes) -> None:
    write(place, hashlib.sha256(content).digest() + content)


def write(place: Path, content: bytes) -> None:
    """Write a file whole or not at all, whoever else writes the same one."""
    place.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(dir=place.parent, delete=False) as target:
        target.write(content)
    os.replace(target.name, place)


_DIGEST = hashlib.sha256().digest_size
