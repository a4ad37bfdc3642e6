from __future__ import annotations

import pytest

from register.jobs.running import run, start
from register.models import Job

pytestmark = pytest.mark.django_db


def counted():
    yield 1, 2
    yield 2, 2


def test_a_job_notes_how_far_it_is_and_that_it_ended(person):
    job = start("counting", counted, by=person("planner"))

    run(job.pk, counted)

    job.refresh_from_db()
    assert (job.done, job.total, job.failed, job.message) == (2, 2, False, "Done.")
    assert job.ended_at


def test_a_second_start_of_the_same_work_joins_the_first(person):
    assert start("counting", counted, by=person("planner")) == start("counting", counted, by=person("auditor"))
    assert Job.objects.count() == 1


def test_a_job_that_fails_says_so_and_shows_no_trace(person):
    def failing():
        yield 1, 2
        raise ZeroDivisionError

    job = start("counting", failing, by=person("planner"))
    run(job.pk, failing)

    job.refresh_from_db()
    assert (job.failed, job.done) == (True, 1)
    assert "ZeroDivisionError" not in job.message


def test_a_job_stops_when_asked_to(person):
    job = start("counting", counted, by=person("planner"))
    Job.objects.update(cancel_asked=True)

    run(job.pk, counted)

    job.refresh_from_db()
    assert (job.done, job.message) == (1, "Cancelled. What was done stays done.")
