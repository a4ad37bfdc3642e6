"""Every change of a stock figure leaves a movement with its reason and person, and the figure follows the movements."""

from __future__ import annotations

from datetime import date, timedelta
from importlib import import_module

import pytest
from django.apps import apps
from django.db.models import Sum
from django.utils import timezone

from register.exchange.reading import import_workbook
from register.models import Asset, Finding, Installation, PlannedMovement, StockLine, StockMovement, Tag
from register.plant import sketch
from register.plant.words import AssetState, Condition, MovementKind, PlannedKind
from register.services import assets, fitting, stock
from register.services.permissions import NotAllowed
from register.services.recording import Refused
from register.services.replacement import BoardMove, replace_asset
from tests import factories
from tests.exchange.workbooks import RIGHT, workbook

pytestmark = pytest.mark.django_db

DAY = date(2025, 2, 3)
PLACE = "Main store B2"


@pytest.fixture
def planner(person):
    return person("planner")


@pytest.fixture
def technician(person):
    return person("technician")


@pytest.fixture
def line(db):
    return factories.stock_line(sketch.relay_board(), 3, place=PLACE)


def move(line, kind, quantity, by, **facts):
    usual = {"store_place": PLACE, "on": DAY, "reason": "Weekly delivery"} | facts
    return stock.record_movement(line.model, kind, quantity=quantity, by=by, **usual)


def told() -> list[tuple]:
    rows = StockMovement.objects.order_by("pk").values_list("kind", "change", "balance", "by__username")
    return [tuple(row) for row in rows]


def quantity(line) -> int:
    line.refresh_from_db()
    return line.quantity


def test_the_figure_follows_the_movements(line, planner):
    move(line, MovementKind.RECEIPT, 4, planner)
    move(line, MovementKind.ISSUE, 2, planner)
    move(line, MovementKind.RETURN, 1, planner)
    move(line, MovementKind.SCRAP, 3, planner)
    assert told() == [
        ("receipt", 4, 7, "planner"),
        ("issue", -2, 5, "planner"),
        ("return", 1, 6, "planner"),
        ("scrap", -3, 3, "planner"),
    ]
    assert quantity(line) == 3


def test_a_count_that_disagrees_corrects_the_figure_by_the_difference(line, planner):
    made = move(line, MovementKind.COUNT, 1, planner, reason="Yearly count")
    assert (made.change, made.balance, made.on, made.reason) == (-2, 1, DAY, "Yearly count")
    assert quantity(line) == 1


def test_a_count_that_agrees_is_kept_too(line, planner):
    assert move(line, MovementKind.COUNT, 3, planner).change == 0
    assert quantity(line) == 3


def test_a_count_from_before_a_later_movement_does_not_correct_todays_figure(line, planner):
    move(line, MovementKind.ISSUE, 1, planner)
    with pytest.raises(Refused, match=r"movement of 2025-02-03 \(issue\)") as refused:
        move(line, MovementKind.COUNT, 3, planner, on=DAY - timedelta(days=1))
    assert refused.value.field == "on"
    assert quantity(line) == 2


def test_no_more_can_leave_than_lies_there(line, planner):
    with pytest.raises(Refused, match="holds 3 Fennel Row Relay board, not 4"):
        move(line, MovementKind.ISSUE, 4, planner)
    assert (quantity(line), told()) == (3, [])


def test_nothing_moves_in_the_future_or_by_nothing(line, planner):
    for facts, field in (({"on": timezone.localdate() + timedelta(days=1)}, "on"), ({"quantity": 0}, "quantity")):
        facts = {"quantity": 1, "on": DAY} | facts
        with pytest.raises(Refused) as refused:
            stock.record_movement(
                line.model, MovementKind.RECEIPT, store_place=PLACE, by=planner, reason="Delivery", **facts
            )
        assert refused.value.field == field
    assert told() == []


def test_only_those_who_may_edit_stock_record_a_movement_by_hand(line, technician, person):
    for user in (technician, person("auditor")):
        with pytest.raises(NotAllowed):
            move(line, MovementKind.RECEIPT, 1, user)
        with pytest.raises(NotAllowed):
            plan(line.model, user)
    assert told() == []


def plan(model, by, kind=PlannedKind.ON_ORDER, **facts) -> PlannedMovement:
    usual = {"reference": "P-1", "quantity": 3, "made_on": DAY, "expected_on": date(2025, 3, 3)} | facts
    return stock.plan_movement(model, kind, by=by, **usual)


def test_a_receipt_fulfils_an_order_until_nothing_is_outstanding(line, planner):
    order = plan(line.model, planner)
    move(line, MovementKind.RECEIPT, 2, planner, planned=order)
    order.refresh_from_db()
    assert (order.outstanding, quantity(line)) == (1, 5)
    with pytest.raises(Refused, match="only 1 are outstanding"):
        move(line, MovementKind.RECEIPT, 2, planner, planned=order)
    move(line, MovementKind.RECEIPT, 1, planner, planned=order)
    assert not PlannedMovement.objects.open().exists()
    assert [one.change for one in order.movements.order_by("pk")] == [2, 1]


def test_an_issue_does_not_fulfil_an_order(line, planner):
    order = plan(line.model, planner)
    with pytest.raises(Refused) as refused:
        move(line, MovementKind.ISSUE, 1, planner, planned=order)
    assert refused.value.field == "planned"


def test_what_is_closed_stays_on_record_and_is_no_longer_outstanding(line, planner):
    kept = plan(line.model, planner, PlannedKind.RESERVED, reference="Kiln 2 refit")
    stock.close_planned(kept, by=planner, reason="Put off to next year")
    kept.refresh_from_db()
    assert (kept.outstanding, kept.closed_reason) == (0, "Put off to next year")
    with pytest.raises(Refused):
        stock.close_planned(kept, by=planner, reason="Again")


def test_an_order_cannot_arrive_before_it_is_made(line, planner):
    with pytest.raises(Refused) as refused:
        plan(line.model, planner, expected_on=date(2025, 2, 2))
    assert refused.value.field == "expected_on"


# Work at the plant


@pytest.fixture
def tag(technician):
    factories.loop(sketch.temperature_loop(), by=technician)
    return Tag.objects.select_related("loop").get(name="TIC-101")


def work(tag, by) -> dict:
    tag.loop.refresh_from_db()
    return {"on": DAY, "by": by, "seen_revision": tag.loop.revision, "reason": "Display dark"}


def swap(tag, incoming, by, **facts):
    facts = {"condition": Condition.FAULTY, "serial_out": "SA1012"} | facts
    return replace_asset(tag, incoming, **work(tag, by), **facts)


def test_a_swap_takes_the_item_from_the_store_by_a_movement(tag, technician):
    spare = factories.asset("SPARE1", sketch.controller_model())
    swap(tag, spare, technician)
    made = StockMovement.objects.get()
    assert (made.asset, made.kind, made.change, made.by, made.reason) == (
        spare,
        "issue",
        -1,
        technician,
        "Display dark",
    )


def test_a_swap_brings_what_still_works_back_by_a_movement(tag, technician):
    spare = factories.asset("SPARE1", sketch.controller_model())
    out = tag.installations.current().get().asset
    swap(tag, spare, technician, condition=Condition.WORKING, store_place="Main store A1")
    assert StockMovement.objects.filter(asset=out).get().kind == "return"
    assert Installation.objects.get(asset=out).condition_out == Condition.WORKING


def test_a_swap_from_a_stock_line_is_one_issue_of_the_line(tag, technician):
    line = factories.stock_line(sketch.controller_model(), 2)
    swap(tag, Asset(model=line.model, serial="NEW1"), technician, line=line)
    assert told() == [("issue", -1, 1, "technician")]
    assert quantity(line) == 1


def test_a_loose_board_that_a_swap_puts_in_is_an_issue_of_its_line(tag, technician):
    line = factories.stock_line(sketch.relay_board(), 2)
    spare = factories.asset("SPARE1", sketch.controller_model())
    bay = spare.model.bays.filter(takes=line.model.family).first().name
    swap(tag, spare, technician, moved_boards=[BoardMove(bay, line=line)])
    assert ("issue", -1, 1, "technician") in told()
    assert quantity(line) == 1


def test_a_board_fitted_from_the_store_and_taken_out_again_moves_its_line_down_and_up(tag, technician):
    line = factories.stock_line(sketch.relay_board(), 1, place=PLACE)
    controller = tag.installations.current().get().asset
    bay = next(one for one in controller.model.bays.filter(takes=line.model.family))
    controller.board_fittings.current().filter(bay=bay.name).update(to_date=DAY)
    fitted = {"bay": bay.name, "model": line.model}
    fitting.fit_board(tag, **fitted, line=line, **work(tag, technician))
    assert quantity(line) == 0
    fitting.remove_board(tag, bay=bay.name, condition=Condition.WORKING, store_place=PLACE, **work(tag, technician))
    assert quantity(line) == 1
    assert told() == [("issue", -1, 0, "technician"), ("return", 1, 1, "technician")]


def test_an_empty_line_gives_no_board(tag, technician):
    line = factories.stock_line(sketch.relay_board(), 0)
    controller = tag.installations.current().get().asset
    bay = controller.model.bays.filter(takes=line.model.family).first().name
    controller.board_fittings.current().filter(bay=bay).update(to_date=DAY)
    with pytest.raises(Refused, match="holds 0"):
        fitting.fit_board(tag, bay=bay, model=line.model, line=line, **work(tag, technician))
    assert not controller.board_fittings.current().filter(bay=bay).exists()


def test_an_item_that_the_planner_adds_or_scraps_is_a_movement(planner):
    model = factories.catalogue_model(sketch.controller_model())
    facts = {"code": "A77", "serial": "S77", "model": model, "state": AssetState.IN_STORE}
    asset = assets.add_asset(facts, by=planner, reason="Bought")
    assets.correct_asset(asset, {"state": AssetState.SCRAPPED}, by=planner, reason="Dropped")
    assert told() == [("receipt", 1, None, "planner"), ("scrap", -1, None, "planner")]


def test_an_import_that_disagrees_with_the_figure_is_a_count(planner):
    def stock_of(quantity):
        row = {"Maker": "Fennel Row", "Model": "Relay board", "Store place": PLACE, "Quantity": quantity}
        return workbook({"Stock": [row]})

    factories.stock_line(sketch.relay_board(), 3, place=PLACE)
    import_workbook(stock_of(5), by=planner, name="stock.xlsx")
    import_workbook(stock_of(5), by=planner, name="again.xlsx")
    made = StockMovement.objects.get()
    assert (made.kind, made.change, made.balance, made.by) == ("count", 2, 5, planner)
    assert "stock.xlsx" in made.reason


def test_an_import_that_brings_an_item_into_the_store_is_a_count(planner):
    rows = {name: [dict(row) for row in of_sheet] for name, of_sheet in RIGHT.items()}
    rows["Assets"].append(rows["Assets"][0] | {"Asset": "A99", "Serial number": "S99", "State": "in store"})
    import_workbook(workbook(rows), by=planner, name="first.xlsx")
    assert [(one.asset.code, one.kind, one.change) for one in StockMovement.objects.filter(line=None)] == [
        ("A99", "count", 1)
    ]


def test_receiving_a_spare_of_an_obsolete_model_clears_its_finding(tag, technician, planner):
    model = tag.installations.current().get().asset.model
    model.obsolete = True
    model.save()
    from register.services.recording import record

    record([tag.loop_id], by=planner, reason="Check", at=timezone.now())
    missing = Finding.objects.open().filter(rule="obsolete-without-spare")
    assert missing.exists()
    stock.record_movement(
        model, MovementKind.RECEIPT, store_place=PLACE, quantity=1, on=DAY, by=planner, reason="Found in the loft"
    )
    assert not missing.exists()


def test_standing_stock_begins_with_a_count(line):
    factories.asset("SPARE1", sketch.controller_model())
    factories.asset("SPARE2", sketch.controller_model(), state=AssetState.IN_WORKSHOP)
    import_module("register.migrations.0014_standing_stock").count_standing_stock(apps, None)
    assert told() == [("count", 3, 3, None), ("count", 1, None, None)]
    assert StockMovement.objects.aggregate(sum=Sum("change"))["sum"] == 4


def test_what_a_reason_said_of_a_condition_becomes_a_fact(tag):
    ended = tag.installations.get()
    Installation.objects.filter(pk=ended.pk).update(to_date=DAY, reason_out="beyond repair: flooded")
    import_module("register.migrations.0014_standing_stock").take_conditions_from_reasons(apps, None)
    ended.refresh_from_db()
    assert ended.condition_out == Condition.BEYOND_REPAIR


def test_a_line_of_a_place_that_holds_none_yet_begins_with_its_receipt(line, planner):
    move(line, MovementKind.RECEIPT, 2, planner, store_place="Shelf 9")
    assert StockLine.objects.get(store_place="Shelf 9").quantity == 2
    with pytest.raises(Refused) as refused:
        move(line, MovementKind.ISSUE, 1, planner, store_place="Nowhere")
    assert refused.value.field == "store_place"
