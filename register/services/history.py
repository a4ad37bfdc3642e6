"""Whether the history still says what was recorded: each loop's revisions are walked along their chain of hashes."""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import groupby

from register.models import Loop, Revision
from register.services.recording import chained_sha256


@dataclass(frozen=True)
class Fault:
    """A revision that was altered, is missing or stands out of order."""

    loop: str
    number: int
    what: str

    def __str__(self) -> str:
        return f"{self.loop} revision {self.number} {self.what}"


@dataclass
class Walked:
    """How many revisions of how many loops were read, and every fault found."""

    loops: int = 0
    revisions: int = 0
    faults: list[Fault] = field(default_factory=list)


def verify_history() -> Walked:
    """Walk the chain of every loop. Writes nothing."""
    walked = Walked()
    latest = dict(Loop.objects.filter(revision__gt=0).values_list("number", "revision"))
    rows = Revision.objects.select_related("loop").order_by("loop__number", "number").iterator(chunk_size=500)
    for loop, revisions in groupby(rows, key=lambda revision: revision.loop.number):
        last = None
        for revision in revisions:
            walked.revisions += 1
            walked.faults += (Fault(loop, *said) for said in _faults_of(revision, last))
            last = revision
        walked.loops += 1
        walked.faults += (Fault(loop, *said) for said in _missing(last.number, latest.pop(loop, 0) + 1))
    for loop, number in latest.items():
        walked.loops += 1
        walked.faults += (Fault(loop, *said) for said in _missing(0, number + 1))
    return walked


def _faults_of(revision: Revision, last: Revision | None) -> Iterator[tuple[int, str]]:
    """What is wrong with a revision that stands after another."""
    number, follows = revision.number, last.number if last else 0
    yield from _missing(follows, number)
    try:
        altered = chained_sha256(revision) != revision.sha256
    except zlib.error:
        altered = True
    if altered:
        yield number, "was altered after it was recorded"
    if number == follows + 1 and revision.previous_sha256 != (last.sha256 if last else ""):
        yield number, f"was not recorded after the revision {follows} that stands here: one of the two was put in later"
    if last and revision.at < last.at:
        yield number, f"is out of order: it is dated before revision {follows}"


def _missing(after: int, before: int) -> Iterator[tuple[int, str]]:
    return ((number, "is missing") for number in range(after + 1, before))
