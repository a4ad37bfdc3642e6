"""Sheets that were drawn before, found by what they print: a directory that keeps to a size and may be emptied."""

from __future__ import annotations

import hashlib
import os
import struct
import tempfile
import time
from contextlib import suppress
from dataclasses import dataclass
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


@dataclass(frozen=True)
class Kept:
    """A sheet's PDF, its number of pages and their seal, and the sha256 of the file that it carries."""

    content: bytes
    pages: int
    pages_sha256: str
    attached_sha256: str


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
    return _folder() / key[:2] / key


def _folder() -> Path:
    return settings.VAR_DIR / "sheets"


def kept(place: Path) -> Kept | None:
    """The sheet that is kept at a place; None where there is none, or one that was damaged there."""
    try:
        stored = place.read_bytes()
    except FileNotFoundError:
        return None
    digest, rest = stored[:_DIGEST], stored[_DIGEST:]
    if len(rest) < _HEAD.size or hashlib.sha256(rest).digest() != digest:
        return None
    with suppress(FileNotFoundError):  # pruned meanwhile: it was read in time
        os.utime(place)
    pages, seal, attached = _HEAD.unpack_from(rest)
    return Kept(rest[_HEAD.size :], pages, seal.hex(), attached.hex())


def keep(place: Path, sheet: Kept) -> None:
    seals = (bytes.fromhex(one) for one in (sheet.pages_sha256, sheet.attached_sha256))
    rest = _HEAD.pack(sheet.pages, *seals) + sheet.content
    write(place, hashlib.sha256(rest).digest() + rest)


def write(place: Path, content: bytes) -> None:
    """Write a file whole or not at all, whoever else writes the same one."""
    place.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(dir=place.parent, delete=False) as target:
        target.write(content)
    os.replace(target.name, place)


def prune() -> int:
    """Take the sheets away that were not needed for longest, until the cache has its size; returns how many went.

    What was needed within the hour stays: a pack that is being made counts on it.
    """
    files = [(one.stat(), one) for one in _folder().rglob("*") if one.is_file()]
    too_much = sum(facts.st_size for facts, _ in files) - settings.SHEET_CACHE_MB * 1_000_000
    gone = 0
    for facts, path in sorted(files, key=lambda one: one[0].st_mtime):
        if too_much <= 0 or facts.st_mtime > time.time() - _STILL_NEEDED_S:
            break
        path.unlink(missing_ok=True)
        too_much -= facts.st_size
        gone += 1
    return gone


_STILL_NEEDED_S = 3600
_DIGEST = hashlib.sha256().digest_size
_HEAD = struct.Struct(f"I{_DIGEST}s{_DIGEST}s")
