"""An import from its proposal on: look at what it would do, bring it in, take it back.

Whoever reads a file makes a :class:`~register.exchange.reading.Reading` of it, calls :func:`propose` and sends people
to ``reverse("exchange:run", args=[run.pk])``, where all the rest happens.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from register.exchange import dry_runs, keeping
from register.exchange.reading import Reading
from register.jobs.beside import Stopped, ask_to_stop, telling
from register.jobs.running import end_if_stopped, start
from register.models import Finding, ImportPart, ImportRun, ImportState, Job, User
from register.models.imports import PartHolds
from register.services.import_undoing import Journal, undo_import
from register.services.importing import CannotImport, MovedOn, Outcome, import_register
from register.services.packing import TOGETHER, unpack
from register.services.permissions import May, require
from register.services.recording import REASON_LENGTH, Refused
from register.services.what_if import what_if

AT_ONCE = 20_000
"""Rows up to which a proposal is looked at while the person waits."""
MOST_TRIED = 20_000
"""Rows added and changed up to which the import is tried, to see what findings come and go; meanwhile others wait."""


def propose(reading: Reading, *, name: str, kind: str, by: User, data: bytes = b"", sha256: str = "") -> ImportRun:
    """Keep what was read and find out what it would do. ``kind`` says what was read, ``data`` is the file itself; where
    it is no longer at hand, ``sha256`` is its sum.

    The run is "proposed" then or, if the reading has problems or the register does not take it, "refused"; a large one
    is "being examined" by a job. Raises NotAllowed.
    """
    require(by, May.IMPORT)
    with transaction.atomic():
        sha256 = sha256 or hashlib.sha256(data).hexdigest()
        run = ImportRun(name=name[:200], kind=kind, sha256=sha256, by=by, at=timezone.now())
        keeping.keep(run, reading)
        if run.rows > AT_ONCE:
            run.job = start(examine, by=by, arguments={"run": run.pk})
            run.save(update_fields=["job"])
            return run
    for _done in _examined(run, reading):
        pass
    return run


def examine(job: Job) -> Iterator[tuple[int, int]]:
    """The work of a proposal's job."""
    run = ImportRun.objects.get(pk=job.arguments["run"])
    if run.state == ImportState.EXAMINED:
        yield from _examined(run, keeping.kept(run))


def _examined(run: ImportRun, reading: Reading, message: str = "") -> Iterator[tuple[int, int]]:
    yield from dry_runs.examine(run, reading)
    if run.problems:
        run.state = ImportState.REFUSED
    else:
        run.state = ImportState.PROPOSED
        if 0 < run.added + run.changed <= MOST_TRIED:
            try:
                found = what_if(lambda: import_register(reading.sheets, by=run.by, reason=reason_of(run)))
                dry_runs.keep_findings(run, found.appear, found.clear)
            except CannotImport as refused:  # what only the database can tell
                run.state, message = ImportState.REFUSED, refused.problems[0].message
    run.message = message
    run.save()
    yield 3, 3


def reason_of(run: ImportRun) -> str:
    """What the revisions say that an import makes."""
    return f"Imported {run.name}"[:REASON_LENGTH]


def begin(run: ImportRun, *, by: User) -> None:
    """Bring in what was proposed, in the background. Raises NotAllowed, Refused."""
    require(by, May.IMPORT)
    with transaction.atomic():
        run = _settled(run)
        if run.state != ImportState.PROPOSED:
            raise Refused(_("This import is %(state)s. Send the file again.") % {"state": run.get_state_display()})
        _start(run, ImportState.RUNNING, bring_in, by)


def _start(run: ImportRun, state: ImportState, work, by: User) -> None:
    run.state, run.message = state, ""
    run.imported_by = by if state == ImportState.RUNNING else run.imported_by
    run.job = start(work, by=by, arguments={"run": run.pk})
    run.save()


def _settled(run: ImportRun) -> ImportRun:
    """The run as it stands now, locked; what its job left behind that was stopped is put right."""
    run = ImportRun.objects.select_for_update().get(pk=run.pk)
    settle(run)
    return run


def settle(run: ImportRun) -> None:
    """Where the job of a run was stopped or failed, say so: nothing of it was kept."""
    job = run.job
    if job is None or run.state not in BEFORE or not (end_if_stopped(job) or job.ended_at):
        return
    run.state = BEFORE[run.state]
    run.message = job.message if job.failed else ""
    run.save(update_fields=["state", "message"])


BEFORE = {
    ImportState.EXAMINED: ImportState.CANCELLED,
    ImportState.RUNNING: ImportState.PROPOSED,
    ImportState.UNDOING: ImportState.IMPORTED,
}
"""Where a run stands again whose job came to nothing."""


def bring_in(job: Job) -> Iterator[tuple[int, int]]:
    """The work of an import's job: all of it in one transaction."""
    run = ImportRun.objects.select_related("imported_by").get(pk=job.arguments["run"])
    if run.state != ImportState.RUNNING:
        return
    reading = keeping.kept(run)
    try:
        with telling(job) as told, transaction.atomic():
            run.imported_at = timezone.now()
            outcome = import_register(
                reading.sheets,
                by=run.imported_by,
                reason=reason_of(run),
                at=run.imported_at,
                seen=run.fingerprint,
                told=told,
            )
            _note(run, outcome)
    except Stopped:
        run.imported_at, run.state, run.message = None, ImportState.CANCELLED, ""
        run.save()
    except (MovedOn, CannotImport):
        run.imported_at = run.imported_by = None
        yield from _examined(run, reading, _("The register changed since this was looked at. Look again."))
    yield 1, 1


def _note(run: ImportRun, outcome: Outcome) -> None:
    """What the import did. Part of its transaction."""
    parts = [
        ImportPart(
            run=run, holds=PartHolds.WRITTEN, table=keeping.name_of(model), place=place, size=size, packed=packed
        )
        for place, (model, size, packed) in enumerate(outcome.written)
    ]
    ImportPart.objects.bulk_create(parts, batch_size=20)
    run.state = ImportState.IMPORTED
    run.appear = Finding.objects.counted().filter(first_seen=run.imported_at).count()
    run.clear = Finding.objects.filter(cleared_at=run.imported_at).count()
    run.save()


def cancel(run: ImportRun, *, by: User) -> None:
    """Put a proposal aside, or stop what is under way: nothing of it is kept. Raises NotAllowed."""
    require(by, May.IMPORT)
    if run.state == ImportState.RUNNING and run.job:
        ask_to_stop(run.job)
        return
    waiting = ImportRun.objects.filter(pk=run.pk, state__in=[ImportState.EXAMINED, ImportState.PROPOSED])
    if waiting.update(state=ImportState.CANCELLED) and run.job:
        Job.objects.filter(pk=run.job_id, ended_at__isnull=True).update(cancel_asked=True)


def undo(run: ImportRun, *, by: User, reason: str) -> None:
    """Take back a whole import, in the background; its page says what became of it. Raises NotAllowed, Refused."""
    require(by, May.IMPORT)
    with transaction.atomic():
        run = _settled(run)
        if run.state != ImportState.IMPORTED:
            raise Refused(_("This import is %(state)s.") % {"state": run.get_state_display()})
        run.undone_by, run.undone_because = by, reason
        _start(run, ImportState.UNDOING, take_back, by)


def take_back(job: Job) -> Iterator[tuple[int, int]]:
    """The work of an undoing's job: all of it in one transaction."""
    run = ImportRun.objects.select_related("undone_by").get(pk=job.arguments["run"])
    if run.state != ImportState.UNDOING:
        return
    written = run.parts.filter(holds=PartHolds.WRITTEN).order_by("place")
    journal = Journal(
        (keeping.model_of(part.table), *unpack(bytes(part.packed))) for part in written.iterator(chunk_size=20)
    )
    try:
        with telling(job) as told, transaction.atomic():
            removed = undo_import(
                keeping.kept(run).sheets,
                journal,
                imported_at=run.imported_at,
                by=run.undone_by,
                reason=run.undone_because,
                told=told,
            )
            rows = ([model._meta.model_name, row] for model, of_model in removed for row in of_model)
            keeping.keep_lines(run, PartHolds.REMOVED, rows, TOGETHER)
            run.state, run.undone_at = ImportState.UNDONE, timezone.now()
            run.save()
    except Refused as refusal:
        ImportRun.objects.filter(pk=run.pk).update(
            state=ImportState.IMPORTED, message=str(refusal)[:1000], undone_by=None, undone_because=""
        )
    yield 1, 1
