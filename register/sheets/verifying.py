"""Whether a pack still says what the register gave out: told from the file and the register alone."""

from __future__ import annotations

import json
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pikepdf

from register.models import Pack, Revision
from register.services.recording import chained_sha256
from register.sheets.packs import MANIFEST, sha256
from register.sheets.seals import pages_sha256

CHUNK = 500
"""Revisions read together."""

_UNREADABLE = (pikepdf.PdfError, zipfile.BadZipFile, zlib.error, LookupError, ValueError, TypeError, RuntimeError)


class NotAPack(Exception):
    """The file cannot be held against the register at all; the message says why."""


@dataclass
class Verified:
    """The pack's title, how many sheets were read, and every fault found, each a sentence."""

    title: str = ""
    sheets: int = 0
    faults: list[str] = field(default_factory=list)


def verify_pack(path: Path) -> Verified:
    """Hold every sheet, the manifest and the whole file against what the register noted when it made the pack.

    Raises NotAPack for a file that cannot be read as one, and for one that this register did not make.
    """
    whole = sha256(path.read_bytes())
    try:
        file = _Zip(path) if zipfile.is_zipfile(path) else _Pdf(path)
        manifest = file.manifest()
    except _UNREADABLE:
        raise NotAPack("It cannot be read: it is no pack, or it was damaged or cut short.") from None
    said = _said(manifest)
    pack = Pack.objects.filter(manifest_sha256=sha256(manifest)).first()
    verified = Verified()
    if pack is None:
        pack = Pack.objects.filter(pk=said["pack"]).exclude(made_at=None).first()
        if pack is None:
            raise NotAPack(f"This register made no pack with its {MANIFEST}: it was altered, or made elsewhere.")
        verified.faults.append(f"{MANIFEST} was altered.")
    verified.title = pack.title
    if not _holds(file, said["contents"]):
        verified.faults.append("The contents page was altered.")
    for start in range(0, len(said["sheets"]), CHUNK):
        chunk = said["sheets"][start : start + CHUNK]
        verified.sheets += len(chunk)
        verified.faults += _faults_of(chunk, file)
    if file.parts != file.parts_named(said):
        verified.faults.append("Something was added to it or taken out of it.")
    if not verified.faults and whole != pack.file_sha256:
        verified.faults.append("It was altered beside its sheets: in its bookmarks, its links or its arrangement.")
    return verified


def _said(manifest: bytes) -> dict:
    """What the manifest says, with nothing in the place of what cannot be read."""
    try:
        said = json.loads(manifest)
    except ValueError:
        said = None
    said = said if isinstance(said, dict) else {}
    sheets = said.get("sheets")
    return {
        "pack": said.get("pack") if isinstance(said.get("pack"), int) else None,
        "contents": said.get("contents"),
        "sheets": [one for one in sheets if isinstance(one, dict)] if isinstance(sheets, list) else [],
    }


def _faults_of(entries: list[dict], file: _Pdf | _Zip) -> Iterator[str]:
    """What is wrong with some sheets, and with the revisions that they show."""
    loops = [str(one.get("loop")) for one in entries]
    numbers = {one.get("revision") for one in entries if isinstance(one.get("revision"), int)}
    rows = Revision.objects.filter(loop__number__in=loops, number__in=numbers).select_related("loop")
    revisions = {(one.loop.number, one.number): one for one in rows}
    for entry in entries:
        name = f"{entry.get('loop')} revision {entry.get('revision')}"
        if not _holds(file, entry):
            yield f"The sheet of {name} was altered."
        if "attached" in entry and not _holds_attached(file, entry):
            yield f"The record of {name} that is attached to its sheet was altered."
        revision = revisions.get((entry.get("loop"), entry.get("revision")))
        if revision is None:
            yield f"The register has no {name}, which the pack shows."
        elif not _still_says(revision, entry.get("revision_sha256")):
            yield f"The register's {name} is not the one that the pack shows: one of the two was altered."


def _still_says(revision: Revision, noted: object) -> bool:
    try:
        return revision.sha256 == noted == chained_sha256(revision)
    except zlib.error:
        return False


def _holds(file: _Pdf | _Zip, entry: object) -> bool:
    """Whether a part of the file is what the manifest says; what cannot be read is not."""
    try:
        return file.holds(entry)
    except _UNREADABLE:
        return False


def _holds_attached(file: _Pdf | _Zip, entry: dict) -> bool:
    try:
        return sha256(file.attached(entry["attached"])) == entry.get("attached_sha256")
    except _UNREADABLE:
        return False


class _Pdf:
    def __init__(self, path: Path):
        self._document = pikepdf.open(path)
        self.parts = len(self._document.pages)

    def manifest(self) -> bytes:
        return self.attached(MANIFEST)

    def attached(self, name: str) -> bytes:
        return self._document.attachments[name].get_file().read_bytes()

    def holds(self, entry: dict) -> bool:
        return pages_sha256(self._document, entry["first_page"] - 1, entry["pages"]) == entry["pages_sha256"]

    def parts_named(self, said: dict) -> int:
        entries = [said["contents"], *said["sheets"]]
        return sum(one["pages"] for one in entries if isinstance(one, dict) and isinstance(one.get("pages"), int))


class _Zip:
    def __init__(self, path: Path):
        self._archive = zipfile.ZipFile(path)
        self.parts = sorted(self._archive.namelist())

    def manifest(self) -> bytes:
        return self._archive.read(MANIFEST)

    def holds(self, entry: dict) -> bool:
        return sha256(self._archive.read(entry["file"])) == entry["sha256"]

    def parts_named(self, said: dict) -> list[str]:
        entries = [said["contents"], *said["sheets"]]
        return sorted([MANIFEST, *(str(one.get("file")) for one in entries if isinstance(one, dict))])
