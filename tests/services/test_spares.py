"""What is installed, ran and failed is read right from the tables, and what is needed follows; the numbers by hand."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from msgspec.structs import replace
from scipy import stats

from register.models import BoardFitting, CatalogueModel, Installation, Loop, PlannedMovement, PlantSettings, Tag
from register.plant import sketch
from register.plant.words import Condition, PlannedKind
from register.services.kits import kit_for, one_failure_from_stopping, reserve_kit
from register.services.recording import Refused
from register.services.spares import buyables, work_out
from tests import factories

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 4)
"""Two years of 365 days after the day on which everything was installed."""
YEARS = (TODAY - factories.INSTALLED_ON).days / 365


@pytest.fixture
def plant(db):
    """Two boiler loops, one of them critical to safety, and one at the kiln; each has two boards in its controller."""
    factories.loop(sketch.temperature_loop("101"), area="Works / Boiler house", criticality="production")
    factories.loop(sketch.temperature_loop("102"), area="Works / Boiler house", criticality="safety")
    factories.loop(sketch.temperature_loop("103"), area="Works / Kiln 1", criticality="routine")
    CatalogueModel.objects.update(failure_rate_per_year=Decimal("0.5"), lead_time_days=73, price=Decimal(100))


def spare(name: str, today: date = TODAY):
    store = work_out(today=today)
    return next(one for one in store.spares.values() if one.row.name == name)


def holding(name: str, today: date = TODAY):
    store = work_out(today=today)
    return next(store.holding_of(pk) for pk, one in store.spares.items() if one.row.name == name)


def test_everything_installed_runs_until_today(plant):
    controller = spare("Regent 96")
    assert (controller.installed, controller.failures) == (3, 0)
    assert controller.years == pytest.approx(3 * YEARS)
    assert sorted(controller.places.values()) == [1, 1, 1]


def test_what_came_out_faulty_or_beyond_repair_failed_and_what_works_did_not(plant):
    half = factories.INSTALLED_ON + timedelta(days=365)
    for number, condition in (("101", "faulty"), ("102", "beyond repair"), ("103", "working")):
        Installation.objects.filter(tag__name=f"TE-{number}").update(to_date=half, condition_out=condition)
    probe = spare("Probe pt100")
    assert (probe.installed, probe.failures) == (0, 2)
    assert probe.years == pytest.approx(3.0)


def test_a_board_runs_while_it_sits_in_a_controller_that_stands_at_a_tag(plant):
    fitting = BoardFitting.objects.filter(controller__installations__tag__name="TIC-101").first()
    name = fitting.model.name
    before = spare(name).years
    in_a_year = factories.INSTALLED_ON + timedelta(days=365)
    Installation.objects.filter(tag__name="TIC-101").update(to_date=in_a_year)
    assert before - spare(name).years == pytest.approx(YEARS - 1)
    in_half = factories.INSTALLED_ON + timedelta(days=73)
    BoardFitting.objects.filter(pk=fitting.pk).update(to_date=in_half, condition_out=Condition.FAULTY)
    assert before - spare(name).years == pytest.approx(YEARS - 0.2)
    assert spare(name).failures == 1


def test_the_rate_is_the_catalogues_corrected_by_the_plants_own(plant):
    """(0.5·4 + 1) / (4 + T), and the interval of the gamma distribution by SciPy."""
    CatalogueModel.objects.update(failure_rate_weight_years=4)
    Installation.objects.filter(tag__name="TE-101").update(to_date=TODAY, condition_out="faulty")
    rate, years = spare("Probe pt100").rate, 3 * YEARS
    assert rate.mean == pytest.approx(3 / (4 + years))
    gamma = stats.gamma(3, scale=1 / (4 + years))
    assert (rate.low, rate.high) == pytest.approx((gamma.ppf(0.05), gamma.ppf(0.95)))


def test_the_stock_needed_is_that_of_the_most_critical_place(plant):
    """μ = 3 · λ · 0.2 with λ = 5/(10 + T); 99 % for the safety loop."""
    held = holding("Regent 96")
    mean = 3 * 5 / (10 + 3 * YEARS) * 73 / 365
    assert held.mean == pytest.approx(mean)
    assert held.level == 0.99
    assert held.needed == int(stats.poisson.ppf(0.99, mean)) == 2
    assert held.risk == pytest.approx(stats.poisson.sf(0, mean))
    Loop.objects.filter(number="T-102").update(criticality="routine")
    Loop.objects.filter(number="T-101").update(criticality="routine")
    assert holding("Regent 96").level == 0.9
    PlantSettings.objects.create(name="Works", service_level_routine_percent=Decimal(50))
    assert holding("Regent 96").needed == 0


def test_what_is_reserved_is_not_there_and_what_is_on_order_is(plant):
    model = CatalogueModel.objects.get(name="Relay board")
    factories.stock_line(sketch.relay_board(), 3)
    for kind, quantity in ((PlannedKind.ON_ORDER, 2), (PlannedKind.RESERVED, 4)):
        PlannedMovement.objects.create(
            model=model, kind=kind, reference="x", quantity=quantity, made_on=TODAY, expected_on=TODAY - timedelta(1)
        )
    held = holding("Relay board")
    assert (held.spare.in_store, held.spare.on_order, held.spare.reserved, held.spare.overdue) == (3, 2, 4, 2)
    assert (held.spare.position, held.spare.free) == (1, 0)
    assert held.short == held.needed - 1
    assert held.cost == held.short * 100


def test_a_minimum_set_by_hand_counts_where_it_is_more(plant):
    factories.stock_line(sketch.relay_board(), 1, minimum=6)
    held = holding("Relay board")
    assert held.by_level < 6
    assert (held.needed, held.short, held.surplus) == (6, 5, 0)


def test_stock_beyond_what_is_needed_is_surplus(plant):
    factories.stock_line(sketch.relay_board(), 9)
    held = holding("Relay board")
    assert held.surplus == 9 - held.needed > 0


@pytest.mark.parametrize(
    ("facts", "said"),
    [({"failure_rate_per_year": None}, "its failure rate"), ({"lead_time_days": None}, "its lead time")],
)
def test_what_cannot_be_worked_out_says_what_is_missing(plant, facts, said):
    CatalogueModel.objects.filter(name="Regent 96").update(**facts)
    held = holding("Regent 96")
    assert held.missing == [said]
    assert (held.needed, held.short, held.risk) == (0, 0, None)
    assert str(held.spare.row.pk) not in [one.name for one in buyables(work_out(today=TODAY))]


# Commonality


def test_a_board_is_counted_once_for_all_the_controllers_that_it_sits_in(plant):
    other = sketch.controller_model(name="Sovereign 96")
    loop = sketch.temperature_loop("104")
    asset = replace(loop.tag("TIC-104").asset, model=other)
    factories.loop(sketch.with_tag(loop, "TIC-104", asset=asset))
    board = spare("Relay board")
    assert board.installed == 4
    assert sorted(board.controllers.values()) == [1, 3]


@pytest.fixture
def newer(plant):
    """A controller that can do all that the one in use can, at the same price."""
    model = replace(sketch.controller_model(), name="Regent 96 B")
    row = factories.catalogue_model(model)
    CatalogueModel.objects.filter(pk=row.pk).update(
        failure_rate_per_year=Decimal("0.5"), lead_time_days=73, price=Decimal(100)
    )
    loop = sketch.temperature_loop("105")
    factories.loop(sketch.with_tag(loop, "TIC-105", asset=replace(loop.tag("TIC-105").asset, model=model)))
    return row


def test_models_that_stand_in_for_each_other_are_held_as_one(newer):
    held = holding("Regent 96")
    assert held is not None
    assert {one.row.name for one in held.served} == {"Regent 96", "Regent 96 B"}
    assert held.mean == pytest.approx(sum(held.mean_of(one) for one in held.served))


def test_what_costs_more_together_is_held_apart(newer):
    """Two of the dear one for both cost more than two of the cheap one and none of the dear one, which never fails."""
    only_it = {"ambient_max_c": Decimal(90)}  # so the cheap one cannot stand in for it
    CatalogueModel.objects.filter(pk=newer.pk).update(
        price=Decimal(5000), failure_rate_per_year=Decimal("0.0001"), failure_rate_weight_years=1000, **only_it
    )
    assert [len(holding(name).served) for name in ("Regent 96", "Regent 96 B")] == [1, 1]
    assert holding("Regent 96 B").needed == 0


def test_boards_in_use_that_find_no_bay_keep_a_controller_from_standing_in(newer):
    newer.bays.all().delete()
    newer.bays.create(name="1")
    store = work_out(today=TODAY)
    old = CatalogueModel.objects.get(name="Regent 96")
    assert newer.pk not in store.stand_ins[old.pk]


def test_an_obsolete_model_is_held_as_its_successor_and_its_own_stock_goes_first(newer):
    """Own stock 1 of the old: SciPy's tail beyond 1 added to the new one's demand."""
    old = CatalogueModel.objects.get(name="Regent 96")
    CatalogueModel.objects.filter(pk=old.pk).update(obsolete=True, successor=newer)
    factories.asset("SPARE1", sketch.controller_model())
    held = holding("Regent 96")
    assert (held.spare.row, [one.row for one in held.others]) == (newer, [old])
    own, new = held.mean_of(held.others[0]), held.mean_of(held.spare)
    none = stats.poisson.cdf(1, own) * stats.poisson.pmf(0, new)
    assert held.risk == pytest.approx(1 - none)


# Places without a spare, and kits


def test_critical_places_without_a_spare_are_listed_the_most_critical_first(plant):
    factories.stock_line(sketch.relay_board(), 1)
    factories.asset("SPARE1", sketch.controller_model())
    loops = Loop.objects.exclude(criticality="routine")
    found = one_failure_from_stopping(work_out(today=TODAY), loops, today=TODAY)
    assert [(one.tag.name, one.bay, one.part.row.name) for one in found] == [
        ("TE-102", "", "Probe pt100"),
        ("TIC-102", "1", "Linear board"),
        ("TV-102", "", "Globe 40"),
        ("TE-101", "", "Probe pt100"),
        ("TIC-101", "1", "Linear board"),
        ("TV-101", "", "Globe 40"),
    ]


def test_another_controller_in_the_store_that_fits_gets_the_place_going(newer):
    factories.asset("SPARE1", replace(sketch.controller_model(), name="Regent 96 B"))
    CatalogueModel.objects.update(price=None)  # nothing is held for another, so the old one has no spare of its own
    found = one_failure_from_stopping(work_out(today=TODAY), Loop.objects.filter(number="T-101"), today=TODAY)
    (controller,) = [one for one in found if one.part.row.name == "Regent 96"]
    assert [str(one.model) for one in controller.fits] == ["Fennel Row Regent 96 B"]
    assert all(not one.fits for one in found if one is not controller)


def test_a_kit_holds_one_of_each_and_more_where_failures_ask_for_it(plant):
    pks = Loop.objects.values_list("pk", flat=True)
    kit = {line.spare.row.name: line for line in kit_for(work_out(today=TODAY), list(pks), days=365)}
    mean = 3 * 5 / (10 + 3 * YEARS)
    assert kit["Regent 96"].mean == pytest.approx(mean)
    assert kit["Regent 96"].take == min(3, int(stats.poisson.ppf(0.99, mean))) == 3
    short = {line.spare.row.name: line.take for line in kit_for(work_out(today=TODAY), list(pks), days=1)}
    assert set(short.values()) == {1}


def test_a_kit_is_kept_back_as_far_as_the_store_holds_it(plant, person):
    factories.stock_line(sketch.relay_board(), 2)
    lines = kit_for(work_out(today=TODAY), [Loop.objects.get(number="T-101").pk], days=30)
    facts = {"made_on": TODAY, "expected_on": TODAY, "by": person("planner")}
    assert reserve_kit(lines, reference="Kiln stop", **facts) == 1
    assert PlannedMovement.objects.get().quantity == 1
    with pytest.raises(Refused, match="Kiln stop is recorded already"):
        reserve_kit(lines, reference="Kiln stop", **facts)


def test_the_whole_plant_takes_a_number_of_queries_that_does_not_grow(plant):
    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            work_out(today=TODAY)
        return len(captured)

    before = queries()
    for number in range(110, 118):
        factories.loop(sketch.pressure_loop(str(number)))
    assert queries() == before <= 20


def test_places_without_a_spare_take_a_number_of_queries_that_does_not_grow(plant):
    def queries() -> int:
        store, loops = work_out(today=TODAY), Loop.objects.all()
        with CaptureQueriesContext(connection) as captured:
            one_failure_from_stopping(store, loops, today=TODAY)
        return len(captured)

    before = queries()
    for number in range(110, 116):
        factories.loop(sketch.temperature_loop(str(number)))
    assert queries() == before
    assert Tag.objects.count() > 20


def test_a_board_in_a_controller_that_stood_elsewhere_before_counts_once_and_ran_at_both(plant):
    before = spare("Relay board")
    moved_on = factories.INSTALLED_ON + timedelta(days=73)
    installation = Installation.objects.get(tag__name="TIC-101")
    Installation.objects.filter(tag__name="TIC-102").update(to_date=factories.INSTALLED_ON)
    Installation.objects.filter(pk=installation.pk).update(to_date=moved_on)
    Installation.objects.create(
        asset=installation.asset, tag=Tag.objects.get(name="TIC-102"), from_date=moved_on, reason_in="Moved"
    )
    after = spare("Relay board")
    assert after.installed == before.installed - 1
    assert sorted(after.places.values()) == [1, 1]
    assert after.years == pytest.approx(before.years - YEARS)


def test_figures_of_the_catalogue_that_cannot_be_do_not_stop_the_others(plant):
    absurd = {"price": Decimal(-5), "failure_rate_weight_years": Decimal(-1), "failure_rate_per_year": Decimal(999999)}
    CatalogueModel.objects.filter(name="Regent 96").update(**absurd)
    held = holding("Regent 96")
    assert "failures within the lead time cannot" in held.missing[0]
    CatalogueModel.objects.filter(name="Regent 96").update(failure_rate_per_year=Decimal("0.5"))
    held = holding("Regent 96")
    assert str(held.spare.row.pk) not in [one.name for one in buyables(work_out(today=TODAY))]
    assert held.spare.weight_years == 10
