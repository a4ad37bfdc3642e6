from __future__ import annotations

import hashlib
import threading
from contextlib import suppress
from decimal import Decimal

import pytest
from django.db import connections

from register.models import Loop, Port, Revision, Tag
from register.plant import codec, sketch
from register.services import editing
from register.services.permissions import May, NotAllowed
from register.services.recording import StaleLoop, changing
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def planner(person):
    return person("planner")


@pytest.fixture
def loop(planner):
    return factories.loop(by=planner)


def rescale(loop, planner, *, high="250", seen=None):
    return editing.change_settings(
        Tag.objects.get(name="TIC-101"),
        {"range_high": high},
        by=planner,
        seen_revision=loop.revision if seen is None else seen,
        reason="Hotter mash wanted",
    )


def test_a_change_makes_a_revision_that_says_what_changed_who_and_why(loop, planner):
    rescale(loop, planner)

    revision = Revision.objects.get(loop=loop, number=2)
    assert revision.changes == ["TIC-101 settings: range 0–200 °C → 0–250 °C"]
    assert (revision.by, revision.reason) == (planner, "Hotter mash wanted")
    assert str(revision.loop_value().tag("TIC-101").settings.range) == "0–250 °C"
    assert str(loop.revisions.get(number=1).loop_value().tag("TIC-101").settings.range) == "0–200 °C"


def test_revisions_are_chained_by_their_hashes(loop, planner):
    rescale(loop, planner)
    first, second = loop.revisions.order_by("number")

    assert second.previous_sha256 == first.sha256
    assert first.previous_sha256 == ""
    assert len({first.sha256, second.sha256, hashlib.sha256(first.snapshot).hexdigest()}) == 3


def test_a_change_that_changes_nothing_makes_no_revision(loop, planner):
    rescale(loop, planner, high="200")

    loop.refresh_from_db()
    assert loop.revision == 1


def test_a_stale_form_is_refused_and_says_what_was_missed(loop, planner):
    rescale(loop, planner)

    with pytest.raises(StaleLoop) as caught:
        rescale(loop, planner, high="300", seen=1)

    assert [revision.reason for revision in caught.value.missed] == ["Hotter mash wanted"]
    assert str(codec.decode(loop.revisions.get(number=2).snapshot).range) == "0–250 °C"
    assert loop.revisions.count() == 2


def test_nothing_is_written_when_the_role_does_not_permit_it(loop, person):
    with pytest.raises(NotAllowed, match="planner, administrator"):
        rescale(loop, person("technician"))

    assert loop.revisions.count() == 1


def test_a_failure_half_way_leaves_nothing(loop, planner):
    row = Tag.objects.get(name="TIC-101").settings_rows.get()

    def change_and_fail():
        with changing(loop, by=planner, needs=May.EDIT_REGISTER, reason="Hotter mash wanted"):
            row.range_high = Decimal(250)
            row.save()
            raise ConnectionError

    with pytest.raises(ConnectionError):
        change_and_fail()

    row.refresh_from_db()
    assert row.range_high == 200
    assert loop.revisions.count() == 1


def test_a_linked_loop_gets_a_revision_when_its_sheet_would_print_something_else(planner):
    slave = factories.loop(sketch.cascade(), by=planner)
    master = Loop.objects.get(number="T-110")

    editing.save_port(
        Port.objects.get(tag__name="TIC-110", name="Output 1"),
        {"range_high": "300"},
        by=planner,
        seen_revision=master.revision,
        reason="Master rescaled",
    )

    slave.refresh_from_db()
    assert slave.revision == 2
    assert slave.revisions.get(number=2).changes == ["T-110 TIC-110 Output 1: range 0–200 °C → 0–300 °C"]
    assert slave.findings.open().get().rule == "remote-set-point-scaled-differently"
    assert slave.open_errors == 1


def test_saving_a_loop_asks_no_more_queries_in_a_larger_plant(loop, planner, django_assert_max_num_queries):
    factories.many_loops(6, by=planner, first=20)

    with django_assert_max_num_queries(90):
        rescale(loop, planner)


@pytest.mark.django_db(transaction=True)
def test_two_people_at_the_two_ends_of_a_link_do_not_block_each_other(planner):
    """Each would lock their own loop first, and then want the other's, which is checked again too."""
    slave = factories.loop(sketch.cascade(), by=planner)
    master = Loop.objects.get(number="T-110")
    both_inside = threading.Barrier(2)
    failed = []

    def save(row):
        try:
            with changing(row, by=planner, needs=May.EDIT_REGISTER, reason="Renamed"):
                Loop.objects.filter(pk=row.pk).update(service="Renamed")
                with suppress(threading.BrokenBarrierError):  # as it should be: one waits for the other
                    both_inside.wait(timeout=1)
        except Exception as error:
            failed.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=save, args=(row,)) for row in (slave, master)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert failed == []
    assert set(Loop.objects.values_list("service", flat=True)) == {"Renamed"}
