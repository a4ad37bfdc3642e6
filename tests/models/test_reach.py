"""What else stops, along a cascade, a supply, a board, a cable, a terminal and a bus (common practice, no source)."""

import pytest

from register.models import Asset, Link, Port, Tag
from register.models.reach import (
    when_asset_fails,
    when_board_fails,
    when_bus_fails,
    when_cable_fails,
    when_terminal_fails,
)
from register.plant import sketch
from register.plant.values import SerialLine
from register.plant.words import Direction, Purpose
from tests import factories


def told(reached) -> dict[str, list[str]]:
    return {one.loop.number: [f"{tag} {effect}" for tag, effect in one.effects] for one in reached}


def alarms(reached) -> list[str]:
    return [str(alarm) for one in reached for alarm in one.alarms]


@pytest.fixture
def cascade(db):
    """T-110 sets the set point of T-102; both are whole loops."""
    factories.loop(sketch.temperature_loop("110"))
    factories.loop(sketch.cascade())


def test_a_sensor_stops_its_controller_its_valve_and_the_alarm(db):
    factories.loop(sketch.temperature_loop("101"))
    reached = when_asset_fails(Asset.objects.get(code="A1011"))
    assert told(reached) == {
        "T-101": [
            "TE-101 stops: A1011 stands here",
            "TIC-101 loses its measurement from TE-101",
            "TV-101 loses its control from TIC-101",
        ]
    }
    assert alarms(reached) == ["TIC-101 Alarm 1"]


def test_a_valve_stops_no_more_than_itself(db):
    factories.loop(sketch.temperature_loop("101"))
    reached = when_asset_fails(Asset.objects.get(code="A1013"))
    assert told(reached) == {"T-101": ["TV-101 stops: A1013 stands here"]}
    assert alarms(reached) == []


def test_the_inner_loop_loses_its_set_point_when_the_outer_controller_fails_and_works_on(cascade):
    reached = told(when_asset_fails(Asset.objects.get(code="A1102")))
    assert reached["T-102"] == ["TIC-102 loses its remote set point from TIC-110"]


def test_the_outer_controller_can_do_nothing_when_the_inner_sensor_fails(cascade):
    reached = told(when_asset_fails(Asset.objects.get(code="A1021")))
    assert reached["T-110"] == ["TIC-110 no longer sets TIC-102"]


def test_a_supply_board_stops_the_transmitter_and_all_that_it_measures_for(db):
    factories.loop(sketch.pressure_loop("201"))
    controller = Tag.objects.get(name="PIC-201")
    reached = when_board_fails(controller.pk, "3")
    assert told(reached) == {
        "P-201": [
            "PIC-201 loses Supply 24 V in bay 3",
            "PIC-201 loses its measurement from PT-201",
            "PT-201 loses its transmitter supply from PIC-201",
            "PV-201 loses its control from PIC-201",
        ]
    }


def test_a_relay_board_takes_the_alarms_that_it_gives(db):
    factories.loop(sketch.temperature_loop("101"))
    factories.fit(sketch.FittedBoard(bay="2", model=sketch.relay_board(), serial="55"), factories.asset("X1"))
    reached = when_board_fails(Tag.objects.get(name="TIC-101").pk, "2")
    assert told(reached) == {"T-101": ["TIC-101 loses Relay 2 in bay 2"]}
    assert alarms(reached) == ["TIC-101 Alarm 1"]


def test_a_board_in_a_controller_in_the_store_stops_nothing(db):
    factories.fit(
        sketch.FittedBoard(bay="2", model=sketch.relay_board(), serial="55"),
        factories.asset("X1", sketch.controller_model()),
    )
    assert when_asset_fails(Asset.objects.get(code="B55")) == []


def test_a_cable_and_a_terminal_break_the_links_that_run_through_them(db):
    factories.loop(sketch.temperature_loop("101"))
    expected = {"T-101": ["TV-101 loses its control from TIC-101"]}
    assert told(when_cable_fails("C-1012")) == expected
    assert told(when_terminal_fails("TV-101", "Signal 1")) == expected


def test_stations_of_a_bus_are_no_longer_heard_but_work_on(db):
    for number, address in (("101", 1), ("102", 2)):
        loop = sketch.temperature_loop(number)
        line = SerialLine(bus="Bus 1", address=address)
        factories.loop(sketch.with_settings(loop, f"TIC-{number}", serial=line))
    reached = when_bus_fails("Bus 1")
    assert told(reached) == {
        "T-101": ["TIC-101 is no longer heard on Bus 1"],
        "T-102": ["TIC-102 is no longer heard on Bus 1"],
    }
    assert alarms(reached) == []


def test_the_most_critical_loop_comes_first(cascade):
    factories.models.Loop.objects.filter(number="T-102").update(criticality="safety")
    assert list(told(when_asset_fails(Asset.objects.get(code="A1101")))) == ["T-102", "T-110"]


def test_a_ring_of_cascades_ends(cascade):
    """The outer controller takes its own set point from the inner one: a fault of the plant, and no endless walk."""
    outer, inner = Tag.objects.get(name="TIC-110"), Tag.objects.get(name="TIC-102")
    remote = Port.objects.create(
        tag=outer, name="Remote", direction=Direction.IN, purpose=Purpose.REMOTE_SET_POINT, signal="4-20mA"
    )
    back = Port.objects.create(tag=inner, name="Back", direction=Direction.OUT, purpose=Purpose.RETRANSMISSION)
    Link.objects.create(source=back, target=remote)
    assert set(told(when_asset_fails(Asset.objects.get(code="A1021")))) == {"T-102", "T-110"}


def test_the_number_of_queries_does_not_grow_with_the_receivers(db, django_assert_num_queries):
    loop = factories.loop(sketch.temperature_loop("101"))
    sensor = Asset.objects.get(code="A1011")
    with django_assert_num_queries(7):
        when_asset_fails(sensor)
    element = Port.objects.get(tag__name="TE-101")
    for place in range(20):
        recorder = Tag.objects.create(name=f"TR-{place}", loop=loop, role="recorder")
        port = Port.objects.create(tag=recorder, name="In", direction=Direction.IN, purpose=Purpose.MEASUREMENT)
        Link.objects.create(source=element, target=port)
    with django_assert_num_queries(7):
        assert len(when_asset_fails(sensor)[0].effects) == 23
