"""A model stands in for another only where its data sheet gives all that the other's states."""

from __future__ import annotations

from decimal import Decimal

import pytest
from msgspec.structs import replace

from register.calc.ranges import Range
from register.plant import sketch
from register.plant.interchange import why_not_instead
from register.plant.values import Bay, ExData, FittedBoard
from register.plant.words import ModelKind, SupplyKind

OLD = replace(
    sketch.controller_model(),
    front_width_mm=Decimal(96),
    front_height_mm=Decimal(96),
    depth_mm=Decimal(120),
    supply_kind=SupplyKind.AC,
    supply_low_v=Decimal(90),
    supply_high_v=Decimal(264),
    ambient_max_c=Decimal(55),
)


def new(**facts):
    return replace(OLD, name="Newer", **facts)


def reasons(spare, other=OLD, boards=()) -> list[str]:
    return list(why_not_instead(spare, other, boards))


def test_a_model_with_the_same_facts_stands_in():
    assert reasons(new()) == []


def test_more_than_is_asked_for_does_no_harm():
    assert reasons(new(depth_mm=Decimal(80), ambient_max_c=Decimal(65), supply_kind=SupplyKind.AC_OR_DC)) == []


@pytest.mark.parametrize(
    ("facts", "reason"),
    [
        ({"kind": ModelKind.INDICATOR}, "is a indicator"),
        ({"front_width_mm": Decimal(48)}, "front width mm 48, not 96"),
        ({"front_width_mm": None}, "front width mm not recorded, not 96"),
        ({"depth_mm": Decimal(160)}, "depth mm 160, not 120"),
        ({"ambient_max_c": Decimal(50)}, "ambient max c 50, not 55"),
        ({"supply_high_v": Decimal(240)}, "takes another supply"),
        ({"supply_kind": SupplyKind.DC}, "takes another supply"),
        ({"ports": ()}, "has no such"),
    ],
)
def test_what_the_data_sheet_gives_less_of_keeps_it_out(facts, reason):
    assert [one for one in reasons(new(**facts)) if reason in one]


def test_an_instrument_at_the_process_is_never_taken_for_another():
    transmitter = sketch.transmitter_model()
    assert reasons(replace(transmitter, name="Other"), transmitter) == [
        "the catalogue does not know the process connection"
    ]


def test_all_boards_in_use_must_find_a_bay():
    relay = FittedBoard(bay="1", model=sketch.relay_board())
    two = (relay, FittedBoard(bay="2", model=sketch.relay_board()))
    one_bay = new(bays=(Bay(name="A", takes=("relay",)), Bay(name="B", takes=("serial",))))
    assert reasons(one_bay, boards=[(relay,)]) == []
    assert reasons(one_bay, boards=[(relay,), two]) == ["has no bay for every board in use"]


def test_each_port_of_the_other_needs_one_of_its_own():
    port = OLD.ports[0]
    twin = replace(OLD, ports=(port, replace(port, name="Second")))
    assert reasons(new(ports=(port,)), twin) == ["has no such input Second"]
    assert reasons(new(ports=(port, replace(port, name="Other name"))), twin) == []


def test_a_signal_must_be_taken_over_the_whole_range_of_the_other():
    port = next(one for one in OLD.ports if one.signals)
    limits = Range(Decimal(0), Decimal(400), "CEL")
    wide = replace(port, signals=(replace(port.signals[0], limits=limits),))
    narrow = replace(port, signals=(replace(port.signals[0], limits=Range(Decimal(0), Decimal(200), "CEL")),))
    assert reasons(new(ports=(wide,)), replace(OLD, ports=(narrow,))) == []
    assert reasons(new(ports=(narrow,)), replace(OLD, ports=(wide,)))


def test_what_is_certified_is_only_replaced_by_what_is_certified_alike():
    certified = replace(OLD, ex=ExData(certificate="LW 23 ATEX 0102", protection="ia", gas_group="IIC"))
    assert reasons(new(), certified) == ["is certified otherwise for hazardous areas"]
    same = ExData(certificate="LW 24 ATEX 0900", protection="ia", gas_group="IIC")
    assert reasons(new(ex=same), certified) == []
