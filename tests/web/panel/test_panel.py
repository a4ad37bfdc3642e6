from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.models import Tag
from register.plant import sketch
from register.plant.words import SupplyKind
from register.services import drafts
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def page(signed_in, person):
    def page(name: str = "TIC-101", role: str = "technician"):
        return signed_in(role).get(f"/panel/{name}/")

    factories.loop(by=person("planner"))
    return page


def test_what_a_technician_needs_stands_on_one_page(page):
    text = page().content.decode()
    for words in ("serial SA1012", "Required settings, in keying order", "Boards by bay", "Wiring", "Last changes"):
        assert words in text


def test_a_platinum_input_is_to_be_fed_the_resistances_of_the_table(page):
    """Pt100 at 0, 50, 100, 150 and 200 °C: IEC 60751:2022, table 1 to two places, its equation to three."""
    (check,) = [one for one in page().context["checks"] if one.expect == "reading"]
    assert [point.applied for point in check.points] == [
        *("100.000 Ω", "119.397 Ω", "138.505 Ω", "157.325 Ω", "175.856 Ω")
    ]


def test_every_conductor_says_where_it_goes(page):
    wires = page().context["wires"]
    assert {(wire.port, wire.far_tag) for wire in wires} == {("Input", "TE-101"), ("Output 1", "TV-101")}
    assert all(wire.cable and wire.terminal for wire in wires)


def test_a_mains_supply_is_cautioned_and_an_extra_low_one_is_not(page):
    Tag.objects.filter(name="TE-101").update(supply_kind=SupplyKind.AC, supply_v=230)
    assert "Mains may be present" in page("TE-101").content.decode()
    Tag.objects.filter(name="TE-101").update(supply_v=24)
    assert "Mains may be present" not in page("TE-101").content.decode()


def test_a_hazardous_place_and_a_trip_are_cautioned(page, person):
    Tag.objects.filter(name="TE-101").update(zone="1")
    assert "Hazardous area." in page("TE-101").content.decode()
    factories.loop(sketch.trip_loop(), by=person("planner"))
    assert "Safety loop." in page("TSHH-601").content.decode()


def test_an_unfinished_swap_is_offered_to_whoever_began_it(page, person):
    drafts.keep_step(Tag.objects.get(name="TIC-101"), "out", {}, by=person("technician"))
    offer = 'href="/tags/TIC-101/replace/">Go on with the swap'
    assert offer in page().content.decode()
    assert offer not in page(role="planner").content.decode()


def test_an_auditor_reads_and_is_offered_no_work(page):
    text = page(role="auditor").content.decode()
    assert "What fits" in text
    assert "/replace/" not in text


def test_the_page_asks_as_much_of_the_database_for_a_large_plant_as_for_a_small_one(page, person):
    page()
    counts = []
    for first in (10, 20):
        with CaptureQueriesContext(connection) as asked:
            page()
        counts.append(len(asked))
        factories.many_loops(6, by=person("planner"), first=first)
    assert counts[0] == counts[1]
