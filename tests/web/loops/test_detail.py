from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.models import Loop
from register.plant import sketch
from register.plant.words import CoilState
from tests import factories

pytestmark = pytest.mark.django_db


def page_of(client, number):
    return client.get(f"/loops/{number}/").content.decode()


@pytest.fixture
def planner(person):
    return person("planner")


def test_a_loop_page_states_the_finding_its_remedy_and_its_source(planner, signed_in):
    factories.loop(sketch.cascade(source_range="0-250 degC"), by=planner)

    page = page_of(signed_in("technician"), "T-102")

    assert "asked for 250 °C, it works to 200 °C" in page
    assert "Scale the source or the remote set-point input" in page
    assert "common practice, no source" in page
    assert "<svg" in page


def test_a_loop_page_shows_settings_boards_alarms_links_and_the_last_change(planner, signed_in):
    factories.loop(by=planner)

    page = page_of(signed_in("auditor"), "T-101")

    for fact in (
        "0–200 °C",
        "Fennel Row Linear board",
        "160\N{NO-BREAK SPACE}°C",
        "TE-101",
        "Taken over from the drawings",
        "SA1012",
    ):
        assert fact in page


@pytest.mark.parametrize(
    ("loop", "caution"),
    [
        (sketch.zoned_loop(), "Hazardous area."),
        (sketch.trip_loop(), "Safety loop."),
        (sketch.relay_heater_loop(), "Mains may be present"),
    ],
    ids=["zone", "trip", "mains"],
)
def test_work_that_can_hurt_comes_with_its_caution(loop, caution, planner, signed_in):
    factories.loop(loop, by=planner)

    assert caution in page_of(signed_in("technician"), loop.number)


def test_an_auditor_sees_no_way_to_change_anything(planner, signed_in):
    factories.loop(sketch.with_alarm(sketch.trip_loop(), "TSHH-601", "Trip", coil=CoilState.ENERGISES), by=planner)

    page = page_of(signed_in("auditor"), "T-601")

    assert "/change/" not in page
    assert "Grant a concession" not in page


def test_the_number_of_queries_does_not_depend_on_the_size_of_the_loop(planner, signed_in):
    client = signed_in("auditor")
    small, large = (
        factories.loop(by=planner),
        factories.loop(sketch.split_range_loop(first=("0", "55"), second=("45", "100")), by=planner),
    )
    page_of(client, small.number)
    with CaptureQueriesContext(connection) as few:
        page_of(client, small.number)
    with CaptureQueriesContext(connection) as many:
        page_of(client, large.number)

    assert len(many) <= len(few) + 1  # a loop with findings reads their concessions


def test_a_new_loop_is_made_and_a_number_that_exists_is_refused(planner, signed_in):
    client = signed_in("planner")
    typed = {
        "number": "T-900",
        "service": "New kiln",
        "area": factories.area().pk,
        "kind": "control",
        "criticality": "routine",
        "reason": "Extension of the works",
    }

    assert client.post("/loops/new/", typed).url == "/loops/T-900/"
    assert Loop.objects.get(number="T-900").revisions.get().reason == "Extension of the works"
    again = client.post("/loops/new/", typed).content.decode()
    assert "Loop with this Number already exists" in again
    assert "New kiln" in again


def test_a_number_unfit_for_an_address_is_refused_with_the_remedy(planner, signed_in):
    page = signed_in("planner").post("/loops/new/", {"number": "T/9", "area": factories.area().pk, "reason": "x"})

    assert "the name stands in addresses and on labels" in page.content.decode()
    assert not Loop.objects.exists()
