"""Draw many sheets: what was drawn before comes from the cache, many new ones are drawn on all cores."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import django

from register.models import Revision
from register.sheets.cache import keep, kept, place_of
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
    place: Path

    @property
    def content(self) -> bytes:
        content = kept(self.place)
        if content is None:
            raise FileNotFoundError(f"the sheet of {self.number} was taken from the cache while it was needed")
        return content


Draw = Callable[[Iterable[Standing], Look], Iterator[Sheet]]


@contextmanager
def drawing() -> Iterator[Draw]:
    """Gives the function that draws sheets, in the order in which they are ready. Its processes end with the block."""
    pools: list[ProcessPoolExecutor] = []

    def draw(standings: Iterable[Standing], look: Look) -> Iterator[Sheet]:
        missing = []
        for standing in standings:
            place = place_of(standing.facts_sha256(look))
            if kept(place) is None:
                missing.append((standing, place))
            else:
                yield _sheet(standing, place)
        if len(missing) <= FEW and not pools:
            for standing, place in missing:
                keep(place, standing.sheet(look))
                yield _sheet(standing, place)
            return
        if not pools:
            # Not forked: the server's threads and database connections must not be copied.
            spawn = multiprocessing.get_context("spawn")
            pools.append(ProcessPoolExecutor(os.cpu_count(), mp_context=spawn, initializer=django.setup))
        asked = {pools[0].submit(standing.sheet, look): (standing, place) for standing, place in missing}
        for done in as_completed(asked):
            standing, place = asked[done]
            keep(place, done.result())
            yield _sheet(standing, place)

    try:
        yield draw
    finally:
        for pool in pools:
            pool.shutdown(cancel_futures=True)


def _sheet(standing: Standing, place: Path) -> Sheet:
    issue = standing.issue
    return Sheet(
        number=standing.loop.number,
        service=standing.loop.service,
        area=standing.loop.area,
        revision=standing.revision,
        issue=str(issue.number) if issue.is_this else "not issued",
        place=place,
    )
