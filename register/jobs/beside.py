"""What a job in the middle of one long transaction tells of itself and is told: seen outside before it is written.

On PostgreSQL by a second connection. On SQLite, where nobody else can write meanwhile, by small files beside the
database's own.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from django.db import connection

from register.jobs.locks import file_beside
from register.models import Job

PROGRESS, STOP = "progress", "stop"
OFTEN_S = 0.5


class Stopped(Exception):
    """Somebody asked the job to stop."""


@contextmanager
def telling(job: Job) -> Iterator[Callable[[int, int], None]]:
    """Yields what to call with how much is done and of how much; it raises Stopped if somebody asked for it."""
    told_at = 0.0
    beside = connection.copy() if connection.vendor == "postgresql" else None

    def told(done: int, total: int) -> None:
        nonlocal told_at
        if time.monotonic() - told_at < OFTEN_S:
            return
        told_at = time.monotonic()
        if _told_postgresql(beside, job.pk, done, total) if beside else _told_file(job.pk, done, total):
            raise Stopped

    try:
        yield told
    finally:
        if beside:
            beside.close()
        else:
            for name in (PROGRESS, STOP):
                file_beside(name, job.pk).unlink(missing_ok=True)


def _told_postgresql(beside, pk: int, done: int, total: int) -> bool:
    table, quote = Job._meta.db_table, connection.ops.quote_name
    with beside.cursor() as cursor:
        cursor.execute(
            f"UPDATE {quote(table)} SET done = %s, total = %s WHERE id = %s RETURNING cancel_asked", (done, total, pk)
        )
        return (cursor.fetchone() or (False,))[0]


def _told_file(pk: int, done: int, total: int) -> bool:
    progress = file_beside(PROGRESS, pk)
    progress.parent.mkdir(exist_ok=True)
    progress.write_text(f"{done} {total}")
    return file_beside(STOP, pk).exists()


def progress_of(job: Job) -> tuple[int, int]:
    """How much is done and of how much."""
    if connection.vendor != "postgresql":
        try:
            done, total = file_beside(PROGRESS, job.pk).read_text().split()
            return int(done), int(total)
        except (OSError, ValueError):
            pass  # it tells nothing beside
    return job.done, job.total


def ask_to_stop(job: Job) -> None:
    """Let a job that tells of itself end without keeping anything."""
    if connection.vendor == "postgresql":
        Job.objects.filter(pk=job.pk).update(cancel_asked=True)
    else:
        stop = file_beside(STOP, job.pk)
        stop.parent.mkdir(exist_ok=True)
        stop.touch()
