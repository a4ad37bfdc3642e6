"""Whether the register still says what was recorded.

Each loop's revisions are walked along their chain of hashes, each loop is held against its latest revision, and the
readings of each calibration against their hash.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import groupby

from django.db.models import F

from register.loading import load_loops
from register.models import Calibration, Loop, Revision
from register.models.calibrations import readings_digest
from register.plant import codec
from register.plant.diff import changes
from register.services.recording import CHUNK, chained_sha256, chunks

_MOST_SHOWN = 3


@dataclass(frozen=True)
class Fault:
    """What was altered, is missing or stands out of order, and how."""

    row: str
    what: str

    def __str__(self) -> str:
        return f"{self.row} {self.what}"


@dataclass
class Walked:
    """How many revisions of how many loops were read, and every fault found."""

    loops: int = 0
    revisions: int = 0
    faults: list[Fault] = field(default_factory=list)


def verify_history() -> Walked:
    """Walk the chain of every loop, then compare the register with its end. Writes nothing."""
    walked = _walk()
    walked.faults += _altered_loops()
    walked.faults += _altered_readings()
    return walked


def _walk() -> Walked:
    walked = Walked()
    latest = dict(Loop.objects.filter(revision__gt=0).values_list("number", "revision"))
    rows = Revision.objects.select_related("loop").order_by("loop__number", "number").iterator(chunk_size=500)
    for loop, revisions in groupby(rows, key=lambda revision: revision.loop.number):
        last = None
        for revision in revisions:
            walked.revisions += 1
            walked.faults += (_fault(loop, *said) for said in _faults_of(revision, last))
            last = revision
        walked.loops += 1
        walked.faults += (_fault(loop, *said) for said in _missing(last.number, latest.pop(loop, 0) + 1))
    for loop, number in latest.items():
        walked.loops += 1
        walked.faults += (_fault(loop, *said) for said in _missing(0, number + 1))
    return walked


def _fault(loop: str, number: int, what: str) -> Fault:
    return Fault(f"{loop} revision {number}", what)


def _altered_loops() -> Iterator[Fault]:
    """Loops that are not what their latest revision recorded: a row was changed behind the register's back."""
    for chunk in chunks(Loop.objects.filter(revision__gt=0).values_list("pk", flat=True)):
        now = load_loops(chunk)
        for revision in Revision.objects.filter(loop__in=chunk, number=F("loop__revision")).order_by("loop__number"):
            loop = now[revision.loop_id]
            try:
                if revision.snapshot == codec.encode(loop):
                    continue
                differing = [str(one) for one in changes(revision.loop_value(), loop)]
            except (zlib.error, ValueError):
                continue  # told already as an altered revision
            shown = "; ".join(differing[:_MOST_SHOWN]) or "a connection with another loop"
            more = f"; and {len(differing) - _MOST_SHOWN} more" if len(differing) > _MOST_SHOWN else ""
            yield Fault(loop.number, f"is not what revision {revision.number} recorded: {shown}{more}")


def _altered_readings() -> Iterator[Fault]:
    """Calibrations whose readings are not those that were recorded."""
    recorded = Calibration.objects.exclude(readings_sha256="").select_related("tag").prefetch_related("readings")
    for calibration in recorded.order_by("tag__name", "on").iterator(chunk_size=CHUNK):
        if readings_digest(calibration, calibration.readings.all()) != calibration.readings_sha256:
            yield Fault(f"The calibration of {calibration}", "has other readings than were recorded")


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
