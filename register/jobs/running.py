"""Run work beside the pages, in a thread of the same process, and note on its Job how far it is."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Iterator
from datetime import timedelta

from django.db import connection, transaction
from django.utils import timezone

from register.models import Job, User

log = logging.getLogger(__name__)

Work = Callable[[], Iterator[tuple[int, int]]]
"""Does the work and yields, after each part, how much is done and of how much."""


LONGEST = timedelta(hours=1)
"""Work that was queued longer ago and has not ended was stopped with its process."""


def start(kind: str, work: Work, *, by: User) -> Job:
    """Begin work, unless work of its kind is under way: then that job is returned."""
    now = timezone.now()
    unfinished = Job.objects.filter(kind=kind, ended_at__isnull=True)
    if (under_way := unfinished.filter(queued_at__gt=now - LONGEST).first()) is not None:
        return under_way
    unfinished.update(ended_at=now, failed=True, message="It was stopped with the server. Start it again.")
    job = Job.objects.create(kind=kind, by=by, queued_at=now)
    transaction.on_commit(lambda: threading.Thread(target=_in_thread, args=(job.pk, work), daemon=True).start())
    return job


def _in_thread(pk: int, work: Work) -> None:
    try:
        run(pk, work)
    finally:
        connection.close()


def run(pk: int, work: Work) -> None:
    """Do the work of a job here and now."""
    row = Job.objects.filter(pk=pk)
    row.update(started_at=timezone.now())
    try:
        for done, total in work():
            row.update(done=done, total=total)
            if row.filter(cancel_asked=True).exists():
                row.update(ended_at=timezone.now(), message="Cancelled. What was done stays done.")
                return
    except Exception:
        log.exception("job %s failed", pk)
        row.update(ended_at=timezone.now(), failed=True, message="It failed. The administrator finds why in the log.")
        return
    row.update(ended_at=timezone.now(), message="Done.")
