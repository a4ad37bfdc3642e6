"""Check the whole plant in the background."""

from __future__ import annotations

from collections.abc import Iterator

from register.models import Job
from register.services.checking import check_plant


def check(job: Job) -> Iterator[tuple[int, int]]:
    yield from check_plant()
