"""What is installed and what lies in the store, counted from installations, boards and stock lines."""

from datetime import date

import pytest
from django.utils import timezone

from register.models import Asset, BoardFitting, CatalogueModel, Installation, Loop
from register.plant import sketch
from register.plant.words import AssetState
from tests import factories


def counts(name: str, loops=None) -> tuple[int, int, int]:
    row = CatalogueModel.objects.with_counts(loops).get(name=name)
    return row.installed, row.in_store, row.minimum


@pytest.fixture
def plant(db):
    """Two heating loops in two areas, a controller in the store and stock lines in two places."""
    factories.loop(sketch.temperature_loop("101"), area="Works / Boiler house")
    factories.loop(sketch.temperature_loop("102"), area="Works / Kiln 1")
    factories.asset("A900", sketch.controller_model())
    factories.asset("A901", sketch.controller_model(), state=AssetState.IN_WORKSHOP)
    factories.stock_line(sketch.relay_board(), quantity=1, minimum=2, place="Main store")
    factories.stock_line(sketch.relay_board(), quantity=2, minimum=3, place="Panel shop")


def test_a_model_counts_where_it_stands_and_in_the_store_but_not_in_the_workshop(plant):
    assert counts("Regent 96") == (2, 1, 0)


def test_stock_lines_of_all_places_add_up(plant):
    assert counts("Relay board") == (2, 3, 5)


def test_what_came_out_no_longer_counts_as_installed(plant):
    Installation.objects.filter(tag__name="TIC-102").update(to_date=date(2025, 1, 7))
    assert counts("Regent 96")[0] == 1
    assert counts("Relay board")[0] == 1, "a board in a controller that stands nowhere is not installed"


def test_a_board_taken_out_of_its_bay_no_longer_counts(plant):
    BoardFitting.objects.filter(bay="2", controller__code="A1022").update(to_date=date(2025, 1, 7))
    assert counts("Relay board")[0] == 1


def test_a_board_in_the_store_by_serial_number_counts_as_stock(plant):
    factories.asset("B77", sketch.relay_board())
    assert counts("Relay board") == (2, 4, 5)


def test_only_the_loops_asked_for_count_as_installed_while_the_store_serves_all(plant):
    kiln = Loop.objects.filter(area__name="Kiln 1")
    assert counts("Regent 96", kiln) == (1, 1, 0)
    assert counts("Relay board", kiln) == (1, 3, 5)


def test_an_asset_stands_at_its_tag_and_a_board_where_its_controller_stands(plant):
    board = sketch.FittedBoard(bay="3", model=sketch.serial_board(), serial="774")
    factories.fit(board, Asset.objects.get(code="A1012"))
    places = {one.code: (one.tag_name, one.controller_code, one.bay) for one in Asset.objects.with_place()}
    assert places["A1011"] == ("TE-101", None, None)
    assert places["B774"] == ("TIC-101", "A1012", "3")
    assert places["A900"] == (None, None, None)


def test_a_board_in_a_controller_that_came_out_stands_at_no_tag(plant):
    factories.fit(
        sketch.FittedBoard(bay="3", model=sketch.serial_board(), serial="774"), Asset.objects.get(code="A1012")
    )
    Installation.objects.filter(tag__name="TIC-101").update(to_date=timezone.localdate())
    board = Asset.objects.with_place().get(code="B774")
    assert (board.tag_name, board.controller_code) == (None, "A1012")


def test_every_word_of_a_search_must_fit_the_asset(plant):
    def found(words: str) -> list[str]:
        return [one.code for one in Asset.objects.matching(words)]

    assert found("fennel a90") == ["A900", "A901"]
    assert found("sa1012") == ["A1012"]
    assert found("fennel quarrymoor") == []
