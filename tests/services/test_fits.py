from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from msgspec.structs import replace

from register.models import StockLine, Tag
from register.plant import sketch
from register.plant.values import Bay
from register.plant.words import ModelKind
from register.services import fits
from tests import factories

pytestmark = pytest.mark.django_db

TODAY = date(2025, 2, 3)
SMALL = sketch.controller_model(
    name="Octavo 48", front_width_mm=Decimal(48), front_height_mm=Decimal(48), bays=(Bay(name="1", takes=("relay",)),)
)
OTHER = sketch.controller_model(name="Folio 96", maker="Hollin & Gale")


@pytest.fixture
def tag(person):
    loop = sketch.with_tag(
        sketch.temperature_loop(), "TIC-101", cutout_width_mm=Decimal(92), cutout_height_mm=Decimal(92)
    )
    factories.loop(loop, by=person("planner"))
    return Tag.objects.get(name="TIC-101")


def test_the_same_model_in_store_comes_first_and_a_smaller_one_without_its_bays_last(tag):
    factories.asset("SMALL1", SMALL)
    factories.catalogue_model(OTHER)
    factories.asset("SAME1", sketch.controller_model())

    found = fits.what_fits(tag, today=TODAY)

    assert [one.model.name for one in found] == ["Regent 96", "Folio 96", "Octavo 48"]
    assert [one.at_hand for one in found] == [True, False, True]
    same, other, small = found
    assert same.same_model
    assert same.outcome.appear == ()
    assert same.must_change[0] == "Move Fennel Row Linear board over, bay 1"
    assert [one.rule for one in other.outcome.appear] == ["another-model-installed"]
    assert [one.rule for one in small.outcome.of("Cut-out")] == ["front-does-not-fit-cutout"]
    assert "output-without-board" in [one.rule for one in small.outcome.of("Boards")]
    assert "An adaptor plate closes the larger hole" in small.must_change


def test_nothing_of_another_kind_is_offered(tag):
    factories.asset("PROBE1", sketch.sensor_model())
    assert {one.model.kind for one in fits.what_fits(tag, today=TODAY)} == {ModelKind.CONTROLLER}


def test_boards_that_lie_in_a_stored_controller_need_not_be_moved(tag):
    spare = factories.asset("SAME1", sketch.controller_model())
    for board in sketch.temperature_loop().tag("TIC-101").asset.boards:
        factories.fit(board, spare)
    first = fits.what_fits(tag, today=TODAY)[0]
    assert (first.asset, first.must_change, first.outcome.appear) == (spare, (), ())


def test_a_loose_item_counts_as_in_the_store_while_there_is_one(tag):
    line = factories.stock_line(OTHER, 1)
    assert next(one for one in fits.what_fits(tag, today=TODAY) if one.model == OTHER).at_hand
    StockLine.objects.filter(pk=line.pk).update(quantity=0)
    assert not next(one for one in fits.what_fits(tag, today=TODAY) if one.model == OTHER).at_hand


def test_what_fits_asks_no_more_of_the_database_for_more_candidates(tag, django_assert_max_num_queries):
    for place in range(5):
        factories.asset(f"SAME{place}", sketch.controller_model())
        factories.catalogue_model(replace(OTHER, name=f"Folio {place}"))
    with django_assert_max_num_queries(45):
        fits.what_fits(tag, today=TODAY)


def test_a_board_is_shown_every_empty_bay_that_takes_it(tag):
    """Bay 3 of the sketch's controller takes serial boards and is empty; nothing uses one there."""
    board = factories.catalogue_model(sketch.serial_board())
    found = fits.judged(board, fits.bays_that_take(board), today=TODAY)
    assert [(one.tag, one.bay, [said.rule for said in one.outcome.appear]) for one in found] == [
        ("TIC-101", "3", ["board-unused"])
    ]
    assert [(str(model), bays) for model, bays in fits.models_that_take(board)] == [("Fennel Row Regent 96", ["3"])]


def test_an_empty_bay_whose_output_is_wired_is_the_first_place_for_a_board(person):
    loop = sketch.with_boards(sketch.temperature_loop(), "TIC-101", bay_1=None)
    factories.loop(loop, by=person("planner"))
    board = factories.catalogue_model(sketch.linear_board())
    found = fits.judged(board, fits.bays_that_take(board), today=TODAY)
    assert (found[0].bay, [said.rule for said in found[0].outcome.clear]) == ("1", ["output-without-board"])


def test_a_full_bay_takes_no_board(tag):
    board = factories.catalogue_model(sketch.linear_board())
    assert "1" not in [one.bay for one in fits.bays_that_take(board)]
