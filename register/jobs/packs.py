"""Ask for a pack, and make it in the background."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime

from django.utils import timezone

from register.jobs.running import start
from register.models import Job, Loop, Pack, User
from register.services.permissions import May, require
from register.services.recording import Refused
from register.sheets.packs import file_of, make_pack


def ask_for_pack(
    loops: list[Loop],
    *,
    title: str,
    form: str,
    paper: str,
    address: str,
    by: User,
    as_on: date | None = None,
    moment: datetime | None = None,
) -> Pack:
    """Begin a pack of these loops as they stand, or as they stood at a moment of the day ``as_on``."""
    require(by, May.READ)
    now = timezone.now()
    pack = Pack.objects.create(
        title=title,
        loops=[loop.pk for loop in loops],
        moment=moment or now,
        as_on=as_on,
        paper=paper,
        form=form,
        address=address,
        by=by,
        asked_at=now,
    )
    begin(pack, by=by)
    return pack


def begin(pack: Pack, *, by: User) -> None:
    """Make a pack, or go on with one that was cancelled or stopped with its server.

    Work on it that may still be under way is told to stop. A pack that was made is never made again: copies of it are
    verified against what the register noted then.
    """
    require(by, May.READ)
    if pack.made_at:
        raise Refused("This pack is made. Ask for a new one if its file is lost.")
    cancel(pack)
    pack.job = start(make, by=by, arguments={"pack": pack.pk})
    pack.save(update_fields=["job"])


def make(job: Job) -> Iterator[tuple[int, int]]:
    """The work of a pack's job."""
    pack = Pack.objects.get(pk=job.arguments["pack"])
    if not pack.made_at:
        yield from make_pack(pack)


def delete_file(pack: Pack, *, by: User) -> None:
    """Delete the file of a pack that was made, to make room. What verifies a copy of it stays for ever."""
    require(by, May.EDIT_REGISTER)
    if not pack.made_at:
        raise Refused("This pack has no file yet. Cancel it if nobody needs it.")
    Pack.objects.filter(pk=pack.pk, file_deleted_at=None).update(file_deleted_by=by, file_deleted_at=timezone.now())
    file_of(pack).unlink(missing_ok=True)


def cancel(pack: Pack) -> None:
    """Stop making a pack before its next sheet; what was drawn is kept for the next attempt."""
    Job.objects.filter(pk=pack.job_id, ended_at__isnull=True).update(
        cancel_asked=True, ended_at=timezone.now(), message="Cancelled. What was done stays done."
    )
