from __future__ import annotations

import subprocess
import sys
from datetime import timedelta

import pytest
from django.utils import timezone

from register.jobs.locks import held, is_held
from register.jobs.running import JOB, end_if_stopped, run, start
from register.models import Job
from tests.processes import environment

pytestmark = pytest.mark.django_db


def counted(job):
    yield 1, job.arguments.get("total", 2)
    yield 2, 2


def failing(job):
    yield 1, 2
    raise ZeroDivisionError


def test_a_job_notes_how_far_it_is_and_that_it_ended(person):
    job = start(counted, by=person("planner"))

    run(job.pk)

    job.refresh_from_db()
    assert (job.done, job.total, job.failed, job.message) == (2, 2, False, "Done.")
    assert job.ended_at


def test_a_second_start_of_the_same_work_joins_the_first(person):
    assert start(counted, by=person("planner")) == start(counted, by=person("auditor"))
    assert start(counted, by=person("planner"), arguments={"total": 3}).arguments == {"total": 3}
    assert Job.objects.count() == 2


def test_a_job_that_fails_says_so_and_shows_no_trace(person):
    job = start(failing, by=person("planner"))

    run(job.pk)

    job.refresh_from_db()
    assert (job.failed, job.done) == (True, 1)
    assert "ZeroDivisionError" not in job.message


def test_a_job_stops_when_asked_to(person):
    job = start(counted, by=person("planner"))
    Job.objects.update(cancel_asked=True)

    run(job.pk)

    job.refresh_from_db()
    assert (job.done, job.message) == (1, "Cancelled. What was done stays done.")


def test_a_job_that_ended_is_not_done_again(person):
    job = start(counted, by=person("planner"))
    run(job.pk)
    Job.objects.update(done=0)

    run(job.pk)

    job.refresh_from_db()
    assert job.done == 0


def test_a_job_whose_process_is_gone_is_seen_at_once_and_can_be_started_again(person):
    """It was begun, and nobody holds its lock any more."""
    job = start(counted, by=person("planner"))
    Job.objects.update(started_at=timezone.now())

    assert start(counted, by=person("planner")) != job

    job.refresh_from_db()
    assert (job.failed, job.message) == (True, "It was stopped with the server. Start it again.")


def test_a_job_that_waits_for_its_thread_has_not_stopped(person):
    job = start(counted, by=person("planner"))

    assert not end_if_stopped(job)

    Job.objects.update(queued_at=timezone.now() - timedelta(minutes=2))
    job.refresh_from_db()
    assert end_if_stopped(job)


HOLD = """
import django, time
django.setup()
from register.jobs.locks import held
with held("job", 77) as mine:
    print(mine, flush=True)
    time.sleep(60)
"""


@pytest.fixture
def other_process():
    """A process that holds the lock of job 77 of the same database."""
    process = subprocess.Popen([sys.executable, "-c", HOLD], stdout=subprocess.PIPE, text=True, env=environment())
    try:
        yield process
    finally:
        process.kill()
        process.wait()


def test_a_lock_ends_with_the_process_that_held_it(other_process):
    assert other_process.stdout.readline() == "True\n"
    assert is_held(JOB, 77)
    with held(JOB, 77) as mine:
        assert not mine

    other_process.kill()
    other_process.wait()
    for _ in range(100):  # PostgreSQL takes a moment to notice
        if not is_held(JOB, 77):
            break
    with held(JOB, 77) as mine:
        assert mine
        assert is_held(JOB, 77)
    assert not is_held(JOB, 77)
