from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.models import Alarm, BoardFitting, Link, Port, Tag
from register.plant import sketch
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def loop(person):
    return factories.loop(by=person("planner"))


SIGNED = {"reason": "Survey", "seen_revision": 1}


def test_tags_are_listed_with_what_is_installed_and_found_by_serial_number(loop, signed_in):
    page = signed_in("auditor").get("/tags/", {"q": "sa1012"}).content.decode()

    assert re.findall(r'href="/tags/([A-Z]+-\d+)/"', page) == ["TIC-101"]
    assert "Fennel Row Regent 96" in page


def test_a_tag_page_shows_its_ports_its_links_and_what_stood_here(loop, signed_in):
    page = signed_in("auditor").get("/tags/TIC-101/").content.decode()

    for fact in ("Output 1", "4–20 mA", "TE-101", "C-1011", "still here"):
        assert fact in page


def test_a_port_alarm_and_link_are_added_and_removed(loop, signed_in):
    client = signed_in("planner")
    tag = Tag.objects.get(name="TIC-101")
    port = {"name": "Spare", "direction": "out", "purpose": "retransmission", "signal": "4-20mA", "bay": "1"}
    assert client.post("/tags/TIC-101/ports/new/", port | SIGNED).status_code == 302
    pk = Port.objects.get(tag=tag, name="Spare").pk
    assert client.post(f"/tags/TIC-101/ports/{pk}/remove/", SIGNED | {"seen_revision": 2}).status_code == 302

    alarm = {"name": "Low", "kind": "low", "set_point": "12,5", "reason": "Survey", "seen_revision": 3}
    assert client.post("/tags/TIC-101/alarms/new/", alarm).status_code == 302
    assert str(Alarm.objects.get(name="Low").set_point) == "12.5"

    link = Link.objects.get(target__name="Signal")
    assert client.post(f"/tags/TV-101/links/{link.pk}/remove/", SIGNED | {"seen_revision": 4}).status_code == 302
    assert {one.rule for one in loop.findings.open()} >= {"port-not-wired"}


def test_a_port_that_is_linked_is_not_removed_and_says_why(loop, signed_in):
    pk = Port.objects.get(tag__name="TIC-101", name="Input").pk
    page = signed_in("planner").post(f"/tags/TIC-101/ports/{pk}/remove/", SIGNED).content.decode()

    assert "TIC-101 Input is linked. Remove the link first." in page


def test_a_range_without_its_unit_or_upside_down_is_refused_and_kept_as_typed(loop, signed_in):
    client = signed_in("planner")
    page = client.post(
        "/tags/TIC-101/settings/required/", {"range_low": "250", "range_high": "100", "range_unit": "CEL"} | SIGNED
    )
    assert "The low end of a range must be below its high end" in page.content.decode()
    assert 'value="250"' in page.content.decode()

    page = client.post("/tags/TIC-101/settings/required/", {"range_low": "0", "range_high": "warm"} | SIGNED)
    assert "“warm” is not a number" in page.content.decode()


def test_a_technician_takes_a_board_out_and_fits_another_that_the_bay_takes(loop, signed_in):
    client = signed_in("technician")
    out = {"on": "2025-02-03", "condition": "working"} | SIGNED
    assert client.post("/tags/TIC-101/bays/1/empty/", out).status_code == 302

    form = client.get("/tags/TIC-101/bays/1/fit/").content.decode()
    assert "Linear board" in form
    assert "Supply board" not in form
    board = factories.catalogue_model(sketch.linear_board()).pk
    fit = {"on": "2025-02-03", "model": board, "reason": "Repaired", "seen_revision": 2}
    assert client.post("/tags/TIC-101/bays/1/fit/", fit).status_code == 302
    assert BoardFitting.objects.current().get(bay="1").model_id == board


def test_a_technician_does_not_set_what_a_tag_requires(loop, signed_in):
    client = signed_in("technician")

    assert client.get("/tags/TIC-101/settings/required/").status_code == 403
    assert client.get("/tags/TIC-101/settings/as-left/").status_code == 200
    assert client.get("/tags/TIC-101/settings/whatever/").status_code == 404


def test_the_number_of_queries_does_not_grow_with_the_tags(loop, person, signed_in):
    client = signed_in("auditor")
    with CaptureQueriesContext(connection) as few:
        client.get("/tags/")
    factories.many_loops(6, by=person("planner"), first=20)
    with CaptureQueriesContext(connection) as many:
        client.get("/tags/")

    assert len(many) == len(few)
