"""Check the whole plant in the background: in parts, each taken by one of any number of processes.

Who works on a part holds its lock and notes that it is done in the transaction that stores its findings. A process that
is killed in the middle has written nothing of its part, and another takes that; none is done twice.
"""

from __future__ import annotations

import logging
import multiprocessing
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager

import django
from django.db import transaction
from django.db.models import Q, Sum
from django.utils import timezone
from django_tasks import default_task_backend, task

from register.jobs.locks import held
from register.models import Job, JobPart, Loop, tallies
from register.services.checking import CHUNK, read_and_check, store

log = logging.getLogger(__name__)

PART = "part of a job"
WORKERS_ASKED = 8
"""Workers that are asked to help; one that finds nothing left goes on with other work."""


def check(job: Job) -> Iterator[tuple[int, int]]:
    """The work of the job: split the plant, have others help, and see to it that every part is done."""
    _split(job)
    if default_task_backend.supports_defer:
        for _ in range(min(WORKERS_ASKED, job.parts.count() - 1)):
            help_with.enqueue(job.pk)
    while open_parts := list(job.parts.open()):
        if not any(map(_do, open_parts)):
            time.sleep(0.1)  # others are at all that is left
        yield _progress(job)
    tallies.compact()
    yield _progress(job)  # they may have done it all


@task()
def help_with(job: int) -> None:
    """Do parts of a job until every one is done or in other hands."""
    while any(map(_do, JobPart.objects.open().filter(job=job, job__ended_at__isnull=True))):
        pass


@contextmanager
def helped(job: Job, processes: int) -> Iterator[None]:
    """Have so many other processes of this machine help while the block runs."""
    if not processes:
        yield
        return
    spawn = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(processes, mp_context=spawn, initializer=django.setup) as pool:
        asked = [pool.submit(help_when_split, job.pk) for _ in range(processes)]
        yield
    for one in asked:
        try:
            one.result()
        except BrokenProcessPool:
            log.warning("a process that helped with job %s was stopped; its part was done by another", job.pk)


def help_when_split(job: int) -> None:
    while not JobPart.objects.filter(job=job).exists() and Job.objects.filter(pk=job, ended_at__isnull=True).exists():
        time.sleep(0.05)
    help_with.func(job)


def _split(job: Job) -> None:
    """Loops of neighbouring keys, once."""
    with transaction.atomic():
        if job.parts.exists():
            return
        pks = list(Loop.objects.in_service().order_by("pk").values_list("pk", flat=True))
        chunks = (pks[start : start + CHUNK] for start in range(0, len(pks), CHUNK))
        job.parts.bulk_create(JobPart(job=job, first=one[0], last=one[-1], size=len(one)) for one in chunks)


def _progress(job: Job) -> tuple[int, int]:
    sizes = job.parts.aggregate(done=Sum("size", filter=Q(done_at__isnull=False)), total=Sum("size"))
    return sizes["done"] or 0, sizes["total"] or 0


def _do(part: JobPart) -> bool:
    """Do a part, unless it is done or another process is at it."""
    with held(PART, part.pk) as mine:
        if not mine or not JobPart.objects.open().filter(pk=part.pk).exists():
            return False
        at = timezone.now()
        pks = Loop.objects.in_service().filter(pk__range=(part.first, part.last)).values_list("pk", flat=True)
        checked = read_and_check(list(pks), at=at)
        with transaction.atomic():
            store(checked, at=at)
            JobPart.objects.filter(pk=part.pk).update(done_at=timezone.now())
        return True
