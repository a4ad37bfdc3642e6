from __future__ import annotations

import pytest
from django.urls import reverse

from register.plant import sketch
from tests import factories

pytestmark = pytest.mark.django_db


def test_the_page_shows_store_before_catalogue_with_what_must_be_done(signed_in, person):
    factories.loop(by=person("planner"))
    factories.asset("SAME1", sketch.controller_model())
    factories.catalogue_model(sketch.controller_model(name="Folio 96"))

    page = signed_in("auditor").get("/tags/TIC-101/what-fits/").content.decode()

    assert page.index("Serial SSAME1") < page.index("none in store") < page.index("Folio 96")
    assert "Move Fennel Row Linear board over, bay 1" in page


def test_a_boards_page_shows_its_bays(signed_in, person):
    factories.loop(by=person("planner"))
    board = factories.catalogue_model(sketch.serial_board())
    page = signed_in("technician").get(reverse("swaps:where_it_fits", args=[board.pk])).content.decode()
    assert "bay 3" in page
    assert "Fennel Row Regent 96" in page
