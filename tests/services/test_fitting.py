from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.utils import timezone
from msgspec.structs import replace

from register.models import Asset, BoardFitting, Tag
from register.plant import sketch
from register.plant.words import AssetState, Condition
from register.services import fitting
from register.services.recording import Refused
from tests import factories

pytestmark = pytest.mark.django_db

DAY = date(2025, 2, 3)


@pytest.fixture
def technician(person):
    return person("technician")


@pytest.fixture
def loop(technician):
    return factories.loop(by=technician)


@pytest.fixture
def tag(loop):
    return Tag.objects.get(name="TIC-101")


def signature(loop, technician):
    loop.refresh_from_db()
    return {"by": technician, "seen_revision": loop.revision, "reason": "Display dark"}


def take_out(tag, loop, technician, on=DAY):
    return fitting.remove_asset(tag, on=on, condition=Condition.FAULTY, **signature(loop, technician))


def test_pulling_a_board_leaves_a_finding_and_fitting_it_again_clears_it(tag, loop, technician):
    fitting.remove_board(tag, bay="1", on=DAY, condition=Condition.WORKING, **signature(loop, technician))
    assert [one.rule for one in loop.findings.open()] == ["output-without-board"]

    board = factories.catalogue_model(sketch.linear_board())
    fitting.fit_board(tag, bay="1", model=board, on=DAY, **signature(loop, technician))
    assert not loop.findings.open().exists()


def test_a_board_that_its_bay_does_not_take_is_refused(tag, loop, technician):
    fitting.remove_board(tag, bay="1", on=DAY, condition=Condition.WORKING, **signature(loop, technician))
    serial = factories.catalogue_model(sketch.serial_board())

    with pytest.raises(Refused, match=r"Bay 1 of Fennel Row Regent 96 takes .*; .* is a serial board") as caught:
        fitting.fit_board(tag, bay="1", model=serial, on=DAY, **signature(loop, technician))

    assert caught.value.field == "model"
    assert not BoardFitting.objects.current().filter(bay="1").exists()


def test_a_bay_that_is_full_or_missing_is_refused(tag, loop, technician):
    board = factories.catalogue_model(sketch.relay_board())

    with pytest.raises(Refused, match="Bay 1 holds"):
        fitting.fit_board(tag, bay="1", model=board, on=DAY, **signature(loop, technician))
    with pytest.raises(Refused, match="has no bay 9"):
        fitting.fit_board(tag, bay="9", model=board, on=DAY, **signature(loop, technician))


def test_an_asset_comes_out_and_another_goes_in_and_the_tag_keeps_its_settings(tag, loop, technician):
    out = take_out(tag, loop, technician)
    assert (out.asset.state, out.to_date) == (AssetState.IN_WORKSHOP, DAY)

    spare = factories.asset("SPARE1", sketch.controller_model())
    fitting.install_asset(spare, tag, on=DAY, **signature(loop, technician))

    spare.refresh_from_db()
    assert spare.state == AssetState.IN_SERVICE
    assert str(loop.revisions.first().loop_value().tag("TIC-101").settings.range) == "0–200 °C"


def test_an_asset_that_is_elsewhere_is_refused_and_says_where(tag, loop, technician):
    factories.loop(sketch.temperature_loop("105"), by=technician)
    elsewhere = Tag.objects.get(name="TIC-105").installations.get().asset
    take_out(tag, loop, technician)

    with pytest.raises(Refused, match="SA1052 is installed at TIC-105"):
        fitting.install_asset(elsewhere, tag, on=DAY, **signature(loop, technician))


def test_a_swap_dated_before_the_last_one_or_in_the_future_is_refused(tag, loop, technician):
    with pytest.raises(Refused, match="is in the future"):
        take_out(tag, loop, technician, on=timezone.localdate() + timedelta(days=1))
    with pytest.raises(Refused, match="went in on 2024-03-04"):
        take_out(tag, loop, technician, on=date(2024, 3, 3))

    take_out(tag, loop, technician)
    spare = factories.asset("SPARE1", sketch.controller_model())
    with pytest.raises(Refused, match="came out of TIC-101 on 2025-02-03"):
        fitting.install_asset(spare, tag, on=date(2025, 2, 2), **signature(loop, technician))


def test_a_scrapped_asset_and_a_loose_board_cannot_be_installed(tag, loop, technician):
    take_out(tag, loop, technician)
    scrapped = factories.asset("OLD1", sketch.controller_model(), state=AssetState.SCRAPPED)
    board = factories.asset("BRD1", sketch.relay_board())

    with pytest.raises(Refused, match="was scrapped"):
        fitting.install_asset(scrapped, tag, on=DAY, **signature(loop, technician))
    with pytest.raises(Refused, match="is an option board"):
        fitting.install_asset(board, tag, on=DAY, **signature(loop, technician))


def test_boards_stay_in_a_controller_and_are_where_it_is(loop, technician):
    """Common practice, no source: what sits in an instrument on the shelf is on the shelf."""
    value = sketch.temperature_loop("106")
    boards = tuple(replace(board, serial="L77") for board in value.tag("TIC-106").asset.boards)
    value = sketch.with_tag(value, "TIC-106", asset=replace(value.tag("TIC-106").asset, boards=boards[:1]))
    other = factories.loop(value, by=technician)
    tag = Tag.objects.get(name="TIC-106")
    board = Asset.objects.get(serial="L77")

    out = fitting.remove_asset(
        tag, on=DAY, condition=Condition.WORKING, store_place="Shelf 4", **signature(other, technician)
    )
    board.refresh_from_db()
    assert (board.state, board.store_place) == (AssetState.IN_STORE, "Shelf 4")
    assert board.fitted_in.current().get().controller == out.asset
    assert board not in Asset.objects.boards_that_could_go_in()

    fitting.install_asset(out.asset, tag, on=DAY, **signature(other, technician))
    board.refresh_from_db()
    assert (board.state, board.store_place) == (AssetState.IN_SERVICE, "")


def test_a_reason_longer_than_an_installation_keeps_stands_whole_in_the_history(tag, loop, technician):
    reason = "Display dark. " * 20
    take = {**signature(loop, technician), "reason": reason}
    out = fitting.remove_asset(tag, on=DAY, condition=Condition.FAULTY, **take)
    out.refresh_from_db()
    assert (len(out.reason_out), loop.revisions.first().reason) == (200, reason)
