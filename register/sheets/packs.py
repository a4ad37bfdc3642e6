"""Packs: the sheets of many loops with a contents page and a manifest, as one PDF or as a ZIP."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pikepdf
from django.conf import settings
from django.utils import timezone

from register.models import Loop, Pack, PackForm, PlantSettings
from register.sheets.cache import prune, write
from register.sheets.contents import LINK, contents_pdf
from register.sheets.drawing import Sheet, drawing
from register.sheets.merging import Merging
from register.sheets.seals import pages_sha256
from register.sheets.standing import Look, standing_at

CHUNK = 100
"""Loops read together: few queries, little memory."""

MANIFEST, CONTENTS = "manifest.json", "contents.pdf"


def make_pack(pack: Pack) -> Iterator[tuple[int, int]]:
    """Draw what is not drawn yet, then write the file; yields how many sheets are done and of how many.

    Begun again after it was stopped, it goes on: what was drawn comes from the cache.
    """
    look = Look(_plant_name(), pack.paper, pack.address, pack.as_on)
    sheets: list[Sheet] = []
    yield 0, len(pack.loops)
    with drawing() as draw:
        for start in range(0, len(pack.loops), CHUNK):
            for sheet in draw(standing_at(pack.loops[start : start + CHUNK], pack.moment), look):
                sheets.append(sheet)
                yield len(sheets), len(pack.loops)
    sheets.sort(key=lambda one: one.number)
    recorded = {one.revision.loop_id for one in sheets}
    missing = Loop.objects.filter(pk__in=[pk for pk in pack.loops if pk not in recorded])
    pack.left_out = list(missing.values_list("number", flat=True))
    merge = _pdf if pack.form == PackForm.PDF else _zip
    manifest, content = merge(pack, sheets, look)
    write(file_of(pack), content)
    pack.manifest_sha256, pack.file_sha256 = sha256(manifest), sha256(content)
    pack.sheets, pack.file_bytes, pack.made_at = len(sheets), len(content), timezone.now()
    pack.save(update_fields=["left_out", "manifest_sha256", "file_sha256", "sheets", "file_bytes", "made_at"])
    prune()
    yield len(pack.loops), len(pack.loops)


def file_of(pack: Pack) -> Path:
    return settings.VAR_DIR / "packs" / f"{pack.pk}.{pack.ending}"


def sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _plant_name() -> str:
    return PlantSettings.objects.values_list("name", flat=True).first() or ""


def _manifest(pack: Pack, contents: dict, sheets: list[dict]) -> bytes:
    said = {
        "pack": pack.pk,
        "title": pack.title,
        "moment": pack.moment.isoformat(),
        "as_on": pack.as_on.isoformat() if pack.as_on else None,
        "asked_by": pack.by.display_name,
        "asked_at": pack.asked_at.isoformat(),
        "contents": contents,
        "sheets": sheets,
    }
    return json.dumps(said, ensure_ascii=False, indent=1).encode() + b"\n"


def _entry(sheet: Sheet, content: bytes) -> dict:
    return {
        "loop": sheet.number,
        "revision": sheet.revision.number,
        "revision_sha256": sheet.revision.sha256,
        "sha256": sha256(content),
    }


def _pdf(pack: Pack, sheets: list[Sheet], look: Look) -> tuple[bytes, bytes]:
    """Manifest and file. A sheet's pages bear a seal of their own: merging does not keep a file's bytes."""
    first_pages, after = {}, 0
    for sheet in sheets:
        first_pages[sheet.number], after = after, after + sheet.pages
    merging = Merging()
    merging.add(contents_pdf(pack, sheets, look, first_pages), bookmark="Contents")
    before = len(merging.document.pages)
    contents = {"first_page": 1, "pages": before}
    entries = []
    for place, sheet in enumerate(sheets, start=1):
        content, file_name = sheet.content, f"{_file_name(place, sheet)}.json"
        merging.add(content, bookmark=f"{sheet.number} {sheet.service}".strip(), file_name=file_name)
        entries.append(
            _entry(sheet, content)
            | {
                "first_page": before + first_pages[sheet.number] + 1,
                "pages": sheet.pages,
                "pages_sha256": sheet.pages_sha256,
                "attached": file_name,
                "attached_sha256": sheet.attached_sha256,
            }
        )
    _lead_to_sheets(merging.document, before)
    _number_pages(merging.document, before)
    contents["pages_sha256"] = pages_sha256(merging.document, 0, before)
    manifest = _manifest(pack, contents, entries)
    merging.attach(MANIFEST, manifest, mime_type="application/json", description="What the pack holds")
    return manifest, merging.finished(pack.title)


def _lead_to_sheets(merged: pikepdf.Pdf, before: int) -> None:
    """Turn the links of the contents page, which name a page, into jumps within the file."""
    pages = merged.pages
    for place in range(before):
        for link in pages[place].get("/Annots", []):
            address = str(link.get("/A", {}).get("/URI", ""))
            if address.startswith(LINK):
                target = pages[before + int(address.removeprefix(LINK))]
                del link["/A"]
                link["/Dest"] = pikepdf.Array([target.obj, pikepdf.Name.Fit])


def _number_pages(merged: pikepdf.Pdf, contents: int) -> None:
    """Readers number the contents i, ii, … and the sheets from 1."""
    roman, arabic = pikepdf.Dictionary(S=pikepdf.Name.r), pikepdf.Dictionary(S=pikepdf.Name.D)
    merged.Root.PageLabels = pikepdf.Dictionary(Nums=pikepdf.Array([0, roman, contents, arabic]))


def _file_name(place: int, sheet: Sheet) -> str:
    """A sheet's place in the pack and its loop's number, in letters that every system takes; the ending is missing."""
    safe = "".join(one if (one.isascii() and one.isalnum()) or one in "-_." else "_" for one in sheet.number)
    return f"{place:04}-{safe}"


def _zip(pack: Pack, sheets: list[Sheet], look: Look) -> tuple[bytes, bytes]:
    """Manifest and file: every sheet as it is, under its place in the pack and its loop's number."""
    target, entries = io.BytesIO(), []
    with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as archive:

        def add(name: str, content: bytes) -> None:
            archive.writestr(zipfile.ZipInfo(name, pack.asked_at.timetuple()[:6]), content)

        contents = contents_pdf(pack, sheets, look, {})
        add(CONTENTS, contents)
        for place, sheet in enumerate(sheets, start=1):
            content, name = sheet.content, f"sheets/{_file_name(place, sheet)}.pdf"
            add(name, content)
            entries.append(_entry(sheet, content) | {"file": name})
        manifest = _manifest(pack, {"file": CONTENTS, "sha256": sha256(contents)}, entries)
        add(MANIFEST, manifest)
    return manifest, target.getvalue()
