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
from django.template.loader import render_to_string
from django.utils import timezone

from register.models import Loop, Pack, PackForm, PlantSettings
from register.sheets.cache import write
from register.sheets.drawing import Sheet, drawing
from register.sheets.pdf import html_to_pdf
from register.sheets.seals import pages_sha256
from register.sheets.sheet import FOOT_MM, MARGIN_MM, PAPERS
from register.sheets.standing import Look, standing_at

CHUNK = 100
"""Loops read together: few queries, little memory."""

MANIFEST, CONTENTS = "manifest.json", "contents.pdf"
_LINK = "pack:"  # in the contents page, until the places of the sheets are known


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
    pack.sheets, pack.made_at = len(sheets), timezone.now()
    pack.save(update_fields=["left_out", "manifest_sha256", "file_sha256", "sheets", "made_at"])
    yield len(pack.loops), len(pack.loops)


def file_of(pack: Pack) -> Path:
    return settings.VAR_DIR / "packs" / f"{pack.pk}.{pack.ending}"


def sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _plant_name() -> str:
    return PlantSettings.objects.values_list("name", flat=True).first() or ""


def _contents(pack: Pack, sheets: list[Sheet], look: Look, pages: dict[str, int]) -> bytes:
    """The contents page. Where sheets are pages of one file, ``pages`` gives each one's by its loop's number."""
    context = {
        "pack": pack,
        "sheets": [(sheet, pages.get(sheet.number)) for sheet in sheets],
        "look": look,
        "link": _LINK,
        "paper": PAPERS[look.paper],
        "margin_mm": MARGIN_MM,
        "foot_mm": FOOT_MM,
    }
    return html_to_pdf(render_to_string("packs/contents.html", context))


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
    with pikepdf.new() as merged:
        entries, first_pages = [], {}
        for sheet in sheets:
            content = sheet.content
            first = len(merged.pages)
            first_pages[sheet.number] = first
            with pikepdf.open(io.BytesIO(content)) as one:
                merged.pages.extend(one.pages)
                pages = len(one.pages)
            seal = pages_sha256(merged, first, pages)
            entries.append(_entry(sheet, content) | {"pages": pages, "pages_sha256": seal})
        with pikepdf.open(io.BytesIO(_contents(pack, sheets, look, first_pages))) as front:
            before = len(front.pages)
            for place, page in enumerate(front.pages):
                merged.pages.insert(place, page)
        _lead_to_sheets(merged, before)
        _add_bookmarks(merged, sheets, before, first_pages)
        _number_pages(merged, before)
        for entry in entries:
            entry["first_page"] = before + first_pages[entry["loop"]] + 1
        contents = {"first_page": 1, "pages": before, "pages_sha256": pages_sha256(merged, 0, before)}
        manifest = _manifest(pack, contents, entries)
        merged.attachments[MANIFEST] = pikepdf.AttachedFileSpec(
            merged, manifest, filename=MANIFEST, mime_type="application/json", description="What the pack holds"
        )
        merged.docinfo["/Title"] = pack.title
        merged.Root.Lang = pikepdf.String("en")
        target = io.BytesIO()
        # Objects stay apart and streams as they are: damage to one sheet leaves the others readable.
        merged.save(
            target,
            object_stream_mode=pikepdf.ObjectStreamMode.disable,
            compress_streams=False,
            deterministic_id=True,
            min_version="1.7",
        )
    return manifest, target.getvalue()


def _lead_to_sheets(merged: pikepdf.Pdf, before: int) -> None:
    """Turn the links of the contents page, which name a page, into jumps within the file."""
    for page in list(merged.pages)[:before]:
        for link in page.get("/Annots", []):
            address = str(link.get("/A", {}).get("/URI", ""))
            if address.startswith(_LINK):
                target = merged.pages[before + int(address.removeprefix(_LINK))]
                del link["/A"]
                link["/Dest"] = pikepdf.Array([target.obj, pikepdf.Name.Fit])


def _add_bookmarks(merged: pikepdf.Pdf, sheets: list[Sheet], before: int, first_pages: dict[str, int]) -> None:
    with merged.open_outline() as outline:
        outline.root.append(pikepdf.OutlineItem("Contents", 0))
        for sheet in sheets:
            title = f"{sheet.number} {sheet.service}".strip()
            outline.root.append(pikepdf.OutlineItem(title, before + first_pages[sheet.number]))


def _number_pages(merged: pikepdf.Pdf, contents: int) -> None:
    """Readers number the contents i, ii, … and the sheets from 1."""
    roman, arabic = pikepdf.Dictionary(S=pikepdf.Name.r), pikepdf.Dictionary(S=pikepdf.Name.D)
    merged.Root.PageLabels = pikepdf.Dictionary(Nums=pikepdf.Array([0, roman, contents, arabic]))


def _zip(pack: Pack, sheets: list[Sheet], look: Look) -> tuple[bytes, bytes]:
    """Manifest and file: every sheet as it is, under its place in the pack and its loop's number."""
    target, entries = io.BytesIO(), []
    with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as archive:

        def add(name: str, content: bytes) -> None:
            archive.writestr(zipfile.ZipInfo(name, pack.asked_at.timetuple()[:6]), content)

        contents = _contents(pack, sheets, look, {})
        add(CONTENTS, contents)
        for place, sheet in enumerate(sheets, start=1):
            content = sheet.content
            safe = "".join(one if one.isalnum() or one in "-_." else "_" for one in sheet.number)
            name = f"sheets/{place:04}-{safe}.pdf"
            add(name, content)
            entries.append(_entry(sheet, content) | {"file": name})
        manifest = _manifest(pack, {"file": CONTENTS, "sha256": sha256(contents)}, entries)
        add(MANIFEST, manifest)
    return manifest, target.getvalue()
