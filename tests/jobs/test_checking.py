from __future__ import annotations

import subprocess
import sys

import pytest
from django.utils import timezone

from register.jobs import checking
from register.jobs.checking import check, help_with
from register.jobs.running import queue, run, start
from register.models import Finding, Loop
from register.plant.invented import Plant
from register.services.making import make_plant
from tests.processes import environment

pytestmark = pytest.mark.django_db


@pytest.fixture
def plant(person, monkeypatch):
    """Of 60 loops, with faults; checked in parts of 10."""
    monkeypatch.setattr(checking, "CHUNK", 10)
    plant = Plant(60, 3, timezone.localdate())
    list(make_plant(plant, by=person("planner")))
    return plant


def found(plant) -> set:
    return {found for use in plant.uses() for found in use.found}


def test_every_part_is_done_once_and_finds_what_is_wrong(plant, person, monkeypatch):
    sizes = []
    read = checking.read_and_check
    monkeypatch.setattr(checking, "read_and_check", lambda pks, at: sizes.append(len(pks)) or read(pks, at=at))
    job = start(check, by=person("planner"))

    run(job.pk)

    job.refresh_from_db()
    assert (job.done, job.total, job.message) == (60, 60, "Done.")
    assert sizes == [10] * 6
    assert set(Finding.objects.open().values_list("rule", "subject")) == found(plant)


def test_work_that_stopped_half_way_goes_on_with_the_parts_that_are_left(plant, person):
    job, _ = queue(check, by=person("planner"))
    checking._split(job)
    first = job.parts.first()
    checking._do(first)
    before = Loop.objects.filter(pk__lte=first.last).values_list("checked_at", flat=True).distinct().get()

    run(job.pk)

    assert Loop.objects.filter(pk__lte=first.last).values_list("checked_at", flat=True).distinct().get() == before
    assert not Loop.objects.filter(checked_at=None).exists()


KILLED = """
import django, sys, time
django.setup()
from register.jobs import checking, running
read = checking.read_and_check
def slow(pks, at):
    checked = read(pks, at=at)
    print("half-way", flush=True)
    time.sleep(float(sys.argv[2]))
    return checked
checking.read_and_check = slow
running.run(int(sys.argv[1]))
"""


@pytest.mark.django_db(transaction=True)
def test_a_killed_worker_loses_nothing_and_repeats_nothing(plant, person):
    """It is killed in the middle of a part while another is at work, which does what is left, that part included."""
    job, _ = queue(check, by=person("planner"))
    checking._split(job)
    command = [sys.executable, "-c", KILLED, str(job.pk)]
    with subprocess.Popen([*command, "60"], env=environment(), stdout=subprocess.PIPE, text=True) as killed:
        assert killed.stdout.readline() == "half-way\n"
        help_with.func(job.pk)
        assert job.parts.open().count() == 1  # what the other holds

        killed.kill()
        killed.wait()
        run(job.pk)

    job.refresh_from_db()
    assert (job.done, job.message) == (60, "Done.")
    assert not Loop.objects.filter(checked_at=None).exists()
    assert sorted(Finding.objects.open().values_list("rule", "subject")) == sorted(found(plant))
