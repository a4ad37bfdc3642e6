"""Loop sheets, beside WeasyPrint's own time and beside pikepdf merging the same files."""

from __future__ import annotations

import io
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import pikepdf
from django.db import transaction
from django.test import override_settings
from django.utils import timezone

from register.bench.comparison import Comparison
from register.models import Loop, Pack, PackForm, User
from register.sheets.drawing import drawing
from register.sheets.packs import make_pack
from register.sheets.standing import Look, standing_at

LOOK = Look("", "A4", "https://loops.example/")
UNCHANGED, CHANGED = 1000, 40
"""Sheets of a pack, where the plant has so many loops."""


def comparisons() -> Iterator[Comparison]:
    """The plant of the current database. What is drawn and written goes to a directory that is deleted."""
    with _scratch():
        loops = list(Loop.objects.in_service().order_by("pk").values_list("pk", flat=True)[:UNCHANGED])
        if not loops:
            return
        yield _single(loops)
        yield _changed(loops)
        yield _unchanged(loops)


def _single(loops: list[int]) -> Comparison:
    """The sheet of the first loop with most tags among some."""
    standing = max(standing_at(loops[:50], timezone.now()), key=lambda one: len(one.loop.tags))
    html = standing.html(LOOK)
    return Comparison(
        "one sheet, from the loop to its PDF/A",
        f"{len(standing.loop.tags)} tags, {len(html) // 1000} kB of HTML",
        "WeasyPrint alone, of the finished HTML to PDF/A",
        lambda: standing.sheet(LOOK),
        lambda: _weasyprint(html),
    )


def _weasyprint(html: str) -> bytes:
    from weasyprint import HTML

    return HTML(string=html).write_pdf(pdf_variant="pdf/a-3a")


def _changed(loops: list[int]) -> Comparison:
    standings = standing_at(loops[:CHANGED], timezone.now())

    def on_all_cores() -> int:
        with _scratch(), drawing() as draw:
            return len(list(draw(standings, LOOK)))

    return Comparison(
        "changed sheets of a pack, on all processors",
        f"{len(standings)} sheets, {os.cpu_count()} processes and their start",
        "the same one after another in one process",
        on_all_cores,
        lambda: [standing.sheet(LOOK) for standing in standings],
    )


def _unchanged(loops: list[int]) -> Comparison:
    with drawing() as draw:
        files = [sheet.content for sheet in draw(standing_at(loops, timezone.now()), LOOK)]
    by = User.objects.first()

    def pack() -> None:
        with transaction.atomic():
            now = timezone.now()
            asked = {"title": "Benchmark", "paper": LOOK.paper, "form": PackForm.PDF, "address": LOOK.address}
            list(make_pack(Pack.objects.create(loops=loops, moment=now, asked_at=now, by=by, **asked)))
            transaction.set_rollback(True)

    return Comparison(
        "a pack of unchanged sheets, with contents, tags, files and seals",
        f"{len(files)} sheets, {sum(map(len, files)) // 1_000_000} MB",
        "pikepdf alone, merging the pages of the same files",
        pack,
        lambda: _merged(files),
    )


def _merged(files: list[bytes]) -> int:
    with pikepdf.new() as merged:
        for content in files:
            with pikepdf.open(io.BytesIO(content)) as one:
                merged.pages.extend(one.pages)
        merged.save(io.BytesIO())
        return len(merged.pages)


@contextmanager
def _scratch() -> Iterator[None]:
    with TemporaryDirectory() as folder, override_settings(VAR_DIR=Path(folder)):
        yield
