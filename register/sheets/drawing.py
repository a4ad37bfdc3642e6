"""Draw many sheets: what was drawn before comes from the cache, many new ones are drawn on all cores."""

from __future__ import annotations

import hashlib
import io
import multiprocessing
import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import django
import pikepdf

from register.models import Revision
from register.sheets.cache import Kept, keep, kept, place_of
from register.sheets.seals import pages_sha256
from register.sheets.sheet import ATTACHED
from register.sheets.standing import Look, Standing

FEW = 8
"""So many new sheets are drawn sooner than other processes have started."""


@dataclass(frozen=True)
class Sheet:
    """A sheet that was drawn: what a contents page says of it, and where it is kept."""

    number: str
    service: str
    area: str
    revision: Revision
    issue: str
    pages: int
    pages_sha256: str
    attached_sha256: str
    place: Path

    @property
    def content(self) -> bytes:
        sheet = kept(self.place)
        if sheet is None:
            raise FileNotFoundError(f"the sheet of {self.number} was taken from the cache while it was needed")
        return sheet.content


Draw = Callable[[Iterable[Standing], Look], Iterator[Sheet]]


@contextmanager
def drawing() -> Iterator[Draw]:
    """Gives the function that draws sheets, in the order in which they are ready. Its processes end with the block."""
    pools: list[ProcessPoolExecutor] = []

    def draw(standings: Iterable[Standing], look: Look) -> Iterator[Sheet]:
        missing = []
        for standing in standings:
            place = place_of(standing.facts_sha256(look))
            if (sheet := kept(place)) is None:
                missing.append((standing, place))
            else:
                yield _sheet(standing, place, sheet)
        if len(missing) <= FEW and not pools:
            for standing, place in missing:
                sheet = _drawn(standing, look)
                keep(place, sheet)
                yield _sheet(standing, place, sheet)
            return
        if not pools:
            # Not forked: the server's threads and database connections must not be copied.
            spawn = multiprocessing.get_context("spawn")
            pools.append(ProcessPoolExecutor(os.cpu_count(), mp_context=spawn, initializer=django.setup))
        asked = {pools[0].submit(_drawn, standing, look): (standing, place) for standing, place in missing}
        for done in as_completed(asked):
            standing, place = asked[done]
            keep(place, done.result())
            yield _sheet(standing, place, done.result())

    try:
        yield draw
    finally:
        for pool in pools:
            pool.shutdown(cancel_futures=True)


def _drawn(standing: Standing, look: Look) -> Kept:
    content = standing.sheet(look)
    with pikepdf.open(io.BytesIO(content)) as document:
        pages = len(document.pages)
        attached = document.attachments[ATTACHED].get_file().read_bytes()
        return Kept(content, pages, pages_sha256(document, 0, pages), hashlib.sha256(attached).hexdigest())


def _sheet(standing: Standing, place: Path, sheet: Kept) -> Sheet:
    issue = standing.issue
    return Sheet(
        number=standing.loop.number,
        service=standing.loop.service,
        area=standing.loop.area,
        revision=standing.revision,
        issue=f"issue {issue.number}" if issue.is_this else "not issued",
        pages=sheet.pages,
        pages_sha256=sheet.pages_sha256,
        attached_sha256=sheet.attached_sha256,
        place=place,
    )
