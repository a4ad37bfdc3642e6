from datetime import date

import pytest
from django.urls import reverse

from register.models import Asset, BoardFitting, Calibration, Installation, Tag
from register.plant import sketch
from tests import factories


@pytest.fixture
def controller(db) -> Asset:
    """TIC-101's controller, which stood at TIC-102 before; the relay board in bay 2 was changed once."""
    factories.loop(sketch.temperature_loop("101"))
    factories.loop(sketch.temperature_loop("102"))
    controller = Asset.objects.get(code="A1012")
    Installation.objects.create(
        asset=controller,
        tag=Tag.objects.get(name="TIC-102"),
        from_date=date(2020, 5, 4),
        to_date=date(2021, 6, 7),
        reason_out="Display failed",
    )
    BoardFitting.objects.create(
        controller=controller,
        bay="2",
        model=factories.catalogue_model(sketch.ssr_board()),
        from_date=date(2020, 5, 4),
        to_date=date(2022, 1, 3),
    )
    return controller


def page_of(client, code: str):
    return client.get(reverse("assets:detail", args=[code]))


def test_a_controller_shows_where_it_stood_and_which_boards_it_had(controller, signed_in):
    page = page_of(signed_in("technician"), "A1012").content.decode()
    for text in ("TIC-101", "still there", "TIC-102", "7 Jun 2021", "Display failed", "Relay board", "Logic board"):
        assert text in page


def test_the_page_says_what_stops_without_it(controller, signed_in):
    page = page_of(signed_in("technician"), "A1011")
    assert [one.loop.number for one in page.context["reached"]] == ["T-101"]
    assert "loses its measurement from TE-101" in page.content.decode()
    assert "Alarm lost: TIC-101 Alarm 1" in page.content.decode()


def test_a_board_shows_the_controller_it_is_in(controller, signed_in):
    factories.fit(sketch.FittedBoard(bay="3", model=sketch.serial_board(), serial="774"), controller)
    page = page_of(signed_in("technician"), "B774").content.decode()
    assert "bay 3 of" in page
    assert reverse("assets:detail", args=["A1012"]) in page
    assert "Controllers that it is and was in" in page


def test_calibrations_are_listed_with_their_figures(controller, signed_in):
    Calibration.objects.create(
        tag=Tag.objects.get(name="TE-101"),
        asset=Asset.objects.get(code="A1011"),
        on=date(2025, 2, 3),
        result="pass",
        worst_error_percent="0.21",
        certificate="LM-118",
    )
    page = page_of(signed_in("auditor"), "A1011").content.decode()
    for text in ("3 Feb", "pass", "0.21", "LM-118"):
        assert text in page


def test_an_asset_in_the_store_stops_nothing(controller, signed_in):
    factories.asset("A900", sketch.valve_model())
    page = page_of(signed_in("auditor"), "A900").content.decode()
    assert "It stands nowhere, so nothing stops." in page
    assert "It was never installed." in page


def test_an_unknown_code_is_not_found(db, signed_in):
    assert page_of(signed_in("auditor"), "NONE").status_code == 404


def test_queries_do_not_grow_with_the_history(controller, signed_in, django_assert_num_queries):
    client = signed_in("auditor")
    with django_assert_num_queries(13):
        page_of(client, "A1012")
    for year in range(1990, 2015):
        Installation.objects.create(
            asset=controller,
            tag=Tag.objects.get(name="TE-102"),
            from_date=date(year, 1, 1),
            to_date=date(year, 12, 31),
        )
    with django_assert_num_queries(13):
        page_of(client, "A1012")
