"""The frame of every change to loops: lock, notice a stale form, write, record revisions, check again."""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from register.loading import load_loops
from register.models import CatalogueModel, CatalogueRevision, Core, Link, Loop, Revision, Settings, SettingsKind, User
from register.plant import codec, values
from register.plant.diff import changes
from register.services import bulk
from register.services.checking import store_findings
from register.services.permissions import May, require

REASON_LENGTH = 300
"""Characters that a revision keeps of its reason."""

CHUNK = 2000
"""Loops worked on together, and keys asked for in one query."""


def chunks(pks: Iterable[int]) -> Iterator[list[int]]:
    ordered = sorted(pks)
    for start in range(0, len(ordered), CHUNK):
        yield ordered[start : start + CHUNK]


class Stale(Exception):
    """Somebody changed what the person opened. Carries its revision ``now``, and the revisions made meanwhile."""

    now: int | str

    def __init__(self, row: Loop | CatalogueModel, missed: Sequence[Revision | CatalogueRevision]):
        self.now, self.missed = row.revision, missed
        who = ", ".join(dict.fromkeys(revision.by.display_name for revision in missed)) or "somebody"
        super().__init__(f"{who} changed {row} while you were editing. Nothing of yours was saved yet.")


class StaleLoop(Stale):
    """Somebody changed the loop since the person opened it."""


class Refused(Exception):
    """The change cannot be made as asked. ``field`` names the form field at fault; the message says the remedy."""

    def __init__(self, message: str, *, field: str = ""):
        self.field = field
        super().__init__(message)


@contextmanager
def changing(
    *loops: Loop,
    by: User,
    needs: May,
    reason: str,
    work_order: str = "",
    seen_revision: int | None = None,
    at: datetime | None = None,
) -> Iterator[datetime]:
    """Write tables inside this frame; on leaving it, revisions and findings follow in the same transaction.

    ``seen_revision`` is the revision of the first loop that the person's form was opened on. Raises NotAllowed,
    StaleLoop, or what the body raises; nothing is written then. Yields the moment of the change.
    """
    require(by, needs)
    at = at or timezone.now()
    with transaction.atomic():
        pks = [loop.pk for loop in loops]
        # Those joined to them are written too when they are checked again. All are locked in one order, or two people
        # at two ends of a link would wait for each other.
        before = related_loops(pks)
        rows = Loop.objects.select_for_update().filter(pk__in={*pks, *before}).order_by("pk")
        locked = {loop.pk: loop for loop in rows}
        if seen_revision is not None and locked[pks[0]].revision != seen_revision:
            missed = Revision.objects.filter(loop=pks[0], number__gt=seen_revision).select_related("by", "loop")
            raise StaleLoop(locked[pks[0]], list(missed))
        yield at
        record([*pks, *(before | related_loops(pks))], by=by, reason=reason, work_order=work_order, at=at)


def related_loops(pks: Collection[int]) -> set[int]:
    """Loops joined to these by a link, a serial bus or a cable, these left out."""
    found: set[int] = set()
    for near, far in (("source", "target"), ("target", "source")):
        ends = Link.objects.filter(**{f"{near}__tag__loop__in": pks}).order_by()
        found.update(ends.values_list(f"{far}__tag__loop_id", flat=True))
    buses = Settings.objects.filter(kind=SettingsKind.REQUIRED).exclude(serial_bus="").order_by()
    mine = buses.filter(tag__loop__in=pks).values("serial_bus")
    found.update(buses.filter(serial_bus__in=mine).values_list("tag__loop_id", flat=True))
    cores = Core.objects.order_by()
    for end in ("source", "target"):  # apart: either in one condition would read every core of the plant
        cables = cores.filter(**{f"link__{end}__tag__loop__in": pks}).values("cable_id")
        found.update(cores.filter(cable__in=cables).values_list("link__source__tag__loop_id", flat=True))
    return found - set(pks)


def record(
    pks: Collection[int], *, by: User, reason: str, work_order: str = "", at: datetime
) -> dict[int, values.Loop]:
    """A revision of every loop that differs from its last one, and the findings of all of them.

    A linked loop whose own facts stand still gets a revision too when what its sheet prints of its neighbours changed.
    Part of the caller's transaction.
    """
    loops = load_loops(pks, today=timezone.localdate(at))
    last = _last_revisions(loops)
    made = []
    for pk, loop in loops.items():
        snapshot = codec.encode(loop)
        previous = last.get(pk)
        if previous and codec.digest(snapshot) == codec.digest(previous.snapshot):
            continue
        said = [str(change) for change in changes(previous.loop_value(), loop)] if previous else []
        made.append(next_revision(pk, snapshot, previous, said, by=by, reason=reason, work_order=work_order, at=at))
    bulk.add(made)
    _keep_numbers(made)
    store_findings(loops, at=at)
    return loops


def record_with_neighbours(
    pks: Collection[int],
    *,
    by: User,
    reason: str,
    at: datetime,
    told: Callable[[int, int], None] = lambda done, total: None,
) -> None:
    """Revisions and findings of the loops in service among these, and of those joined to them; bounded in memory.

    Part of the caller's transaction. ``told`` is called with how many loops are done and of how many.
    """
    found = set(pks)
    for chunk in chunks(pks):
        found |= related_loops(chunk)
    in_service = found.intersection(Loop.objects.in_service().values_list("pk", flat=True))
    done = 0
    for chunk in chunks(in_service):
        record(chunk, by=by, reason=reason, at=at)
        done += len(chunk)
        told(done, len(in_service))


def _last_revisions(pks: Collection[int]) -> dict[int, Revision]:
    """The latest revision of each loop, which the loop's own number points to."""
    numbers = Q()
    by_number: dict[int, list[int]] = {}
    for pk, number in Loop.objects.filter(pk__in=pks, revision__gt=0).values_list("pk", "revision"):
        by_number.setdefault(number, []).append(pk)
    for number, with_it in by_number.items():
        numbers |= Q(number=number, loop__in=with_it)
    return {} if not by_number else {one.loop_id: one for one in Revision.objects.filter(numbers)}


def next_revision(
    pk: int, snapshot: bytes, previous: Revision | None, said: list[str], *, by, reason, work_order, at
) -> Revision:
    """The revision of a loop after another, not yet written; ``said`` are the changes in words."""
    one = Revision(
        loop_id=pk,
        number=previous.number + 1 if previous else 1,
        at=at,
        by=by,
        reason=reason,
        work_order=work_order,
        changes=said,
        compressed=zlib.compress(snapshot),
        previous_sha256=previous.sha256 if previous else "",
    )
    one.sha256 = chained_sha256(one)
    return one


def chained_sha256(revision: Revision) -> str:
    """The hash over all that a revision says and over the hash of the one before."""
    said = (
        revision.previous_sha256,
        str(revision.loop_id),
        str(revision.number),
        revision.at.astimezone(UTC).isoformat(),
        str(revision.by_id),
        revision.reason,
        revision.work_order,
        *revision.changes,
    )
    whole = hashlib.sha256()
    for part in said:
        encoded = part.encode()
        whole.update(len(encoded).to_bytes(8, "big") + encoded)
    whole.update(revision.snapshot)
    return whole.hexdigest()


def _keep_numbers(made: list[Revision]) -> None:
    by_number: dict[int, list[int]] = {}
    for one in made:
        by_number.setdefault(one.number, []).append(one.loop_id)
    for number, pks in by_number.items():
        Loop.objects.filter(pk__in=pks).update(revision=number)
