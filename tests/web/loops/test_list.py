from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.plant import sketch
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def plant(person):
    """Eight right loops in three areas, and one with an alarm out of reach."""
    planner = person("planner")
    factories.many_loops(8, by=planner)
    faulty = sketch.with_alarm(sketch.temperature_loop("120"), "TIC-120", "Alarm 1", set_point=sketch.number(900))
    return factories.loop(faulty, by=planner, area="Works / Kiln 1", service="Kiln 1 air-off temperature")


def listed(client, **query):
    page = client.get("/loops/", query).content.decode()
    return re.findall(r'href="/loops/([A-Z]-\d+)/"', page)


def test_loops_are_found_by_any_part_of_a_tag_a_serial_number_or_the_service(plant, signed_in):
    client = signed_in("auditor")

    assert listed(client, q="IC-12") == ["T-120"]
    assert listed(client, q="sa120") == ["T-120"]
    assert listed(client, q="air-OFF") == ["T-120"]
    assert listed(client, q="nothing of the kind") == []


def test_loops_are_narrowed_by_area_and_severity(plant, signed_in):
    client = signed_in("auditor")
    kiln = factories.area("Works / Kiln 1").pk

    assert listed(client, severity="warning") == ["T-120"]
    assert listed(client, severity="error") == []
    assert "T-120" in listed(client, area=kiln)
    assert "T-101" not in listed(client, area=kiln)
    assert "T-101" in listed(client, area=factories.area("Works").pk)


def test_a_list_without_a_match_says_what_to_do(plant, signed_in):
    page = signed_in("auditor").get("/loops/", {"q": "zzz"}).content.decode()

    assert "No loop matches. Take a filter away" in page


def test_the_worst_loops_come_first_when_sorted_by_findings(plant, signed_in):
    assert listed(signed_in("auditor"), sort="findings")[0] == "T-120"


def test_the_number_of_queries_does_not_grow_with_the_loops(plant, person, signed_in):
    client = signed_in("auditor")
    with CaptureQueriesContext(connection) as few:
        client.get("/loops/")
    factories.many_loops(10, by=person("planner"), first=50)
    with CaptureQueriesContext(connection) as many:
        client.get("/loops/")

    assert len(many) == len(few) <= 8
