from __future__ import annotations

import pytest

from register.plant import sketch
from register.services.checking import check_plant
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def gappy(person):
    loop = sketch.with_tag(sketch.temperature_loop(), "TE-101", location=None)
    return factories.loop(loop, by=person("planner"))


def test_the_list_counts_loops_by_item_and_leads_to_the_places(gappy, person, signed_in):
    factories.loop(sketch.temperature_loop("105"), by=person("planner"))
    client = signed_in("auditor")

    page = client.get("/completeness/").content.decode()
    assert "1 of 2 loops have all" in page
    detail = client.get("/completeness/locations/").content.decode()
    assert "TE-101" in detail
    assert "T-105" not in detail


def test_the_loop_page_shows_its_score_and_its_gaps(gappy, signed_in):
    page = signed_in("technician").get("/loops/T-101/").content.decode()

    assert "85 % of what a diagram must show" in page
    assert "locations</a>: TE-101" in page


def test_a_gap_goes_when_the_fact_is_recorded(gappy):
    gappy.tags.filter(name="TE-101").update(location="field")

    list(check_plant())

    gappy.refresh_from_db()
    assert (gappy.completeness_percent, gappy.gaps.filter(item="locations").exists()) == (100, False)


def test_an_item_that_does_not_exist_is_not_found(signed_in):
    assert signed_in("auditor").get("/completeness/moon/").status_code == 404


def test_the_number_of_queries_does_not_grow_with_the_gaps(person, signed_in, django_assert_max_num_queries):
    for place in range(4):
        loop = sketch.with_tag(sketch.temperature_loop(f"12{place}"), f"TE-12{place}", location=None)
        factories.loop(loop, by=person("planner"))
    client = signed_in("auditor")

    with django_assert_max_num_queries(7):
        client.get("/completeness/locations/")
