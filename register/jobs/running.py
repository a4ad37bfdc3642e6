"""Run work beside the pages and note on its Job how far it is.

A job is the name of a function and its arguments, kept in a row, so that any process can do it: a thread of the server,
or a worker (the setting JOBS). Whoever does a job holds its lock; a job that is not ended and not held stopped with its
process. It is begun again from its row, by a watch that any other worker keeps, or by whoever asks for it.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

from django.utils import timezone
from django.utils.module_loading import import_string
from django_tasks import default_task_backend, task

from register.jobs.locks import held, is_held
from register.models import Job, User

log = logging.getLogger(__name__)

Work = Callable[[Job], Iterator[tuple[int, int]]]
"""A function of a module: does the work of a job by its ``arguments``; yields how much is done and of how much.

Begun again after it stopped, it must go on with what is not done yet.
"""

JOB = "job"
WATCHED_EVERY = timedelta(seconds=20)
SOON = timedelta(seconds=60)
"""A thread that was asked for longer ago and has not begun was stopped with its server."""


def start(work: Work, *, by: User | None, arguments: dict[str, Any] | None = None) -> Job:
    """Begin work, unless the same is under way with the same arguments: then that job is returned."""
    job, is_new = queue(work, by=by, arguments=arguments)
    if is_new:
        run_job.enqueue(job.pk)
        _watch(job.pk)
    return job


def queue(work: Work, *, by: User | None, arguments: dict[str, Any] | None = None) -> tuple[Job, bool]:
    """The job of such work, for whoever does it, and whether it was made for that or is under way already."""
    kind, arguments = name_of(work), arguments or {}
    for job in Job.objects.filter(kind=kind, arguments=arguments, ended_at__isnull=True):
        if not end_if_stopped(job):
            return job, False
    return Job.objects.create(kind=kind, arguments=arguments, by=by, queued_at=timezone.now()), True


def name_of(work: Work) -> str:
    """What a job's ``kind`` says: the module and name of the function."""
    return f"{work.__module__}.{work.__name__}"


def end_if_stopped(job: Job) -> bool:
    """End a job whose process is gone, where nothing else begins it again. True if it was so."""
    if job.ended_at or default_task_backend.supports_defer or is_held(JOB, job.pk):
        return False
    if job.started_at is None and job.queued_at > timezone.now() - SOON:
        return False
    job.ended_at, job.failed, job.message = timezone.now(), True, "It was stopped with the server. Start it again."
    # Unless it ended by itself since it was read.
    return bool(
        Job.objects.filter(pk=job.pk, ended_at__isnull=True).update(
            ended_at=job.ended_at, failed=True, message=job.message
        )
    )


def run(pk: int) -> None:
    """Do the work of a job here and now, unless it is ended or another process is at it."""
    for _ in doing(pk):
        pass


def doing(pk: int) -> Iterator[tuple[int, int]]:
    """The same, and yields how much is done and of how much."""
    with held(JOB, pk) as mine:
        job = Job.objects.filter(pk=pk, ended_at__isnull=True).first()
        if not mine or job is None:
            return
        row = Job.objects.filter(pk=pk)
        row.update(started_at=job.started_at or timezone.now())
        try:
            for done, total in import_string(job.kind)(job):
                row.update(done=done, total=total)
                yield done, total
                if row.filter(cancel_asked=True).exists():
                    row.update(ended_at=timezone.now(), message="Cancelled. What was done stays done.")
                    return
        except Exception:
            log.exception("job %s failed", pk)
            row.update(
                ended_at=timezone.now(), failed=True, message="It failed. The administrator finds why in the log."
            )
            return
        row.update(ended_at=timezone.now(), message="Done.")


@task()
def run_job(pk: int) -> None:
    run(pk)


@task()
def watch_job(pk: int) -> None:
    """Have a job whose worker is gone done by another, and look again in a while until it is ended."""
    if Job.objects.filter(pk=pk, ended_at__isnull=True).exists():
        if not is_held(JOB, pk):
            run_job.enqueue(pk)
        _watch(pk)


def _watch(pk: int) -> None:
    if default_task_backend.supports_defer:
        watch_job.using(run_after=timezone.now() + WATCHED_EVERY).enqueue(pk)
