"""Which cautions a loop calls for: common practice, no source. The limit of extra-low voltage is IEC 61140's,
50 V a.c. (from memory)."""

from decimal import Decimal

import pytest
from msgspec.structs import replace

from register.plant import sketch
from register.plant.cautions import Cautions, cautions_for
from register.plant.values import SafetyFunction
from register.plant.words import Criticality, LoopKind, SupplyKind

PLAIN = replace(sketch.temperature_loop(), kind=LoopKind.CONTROL, criticality=Criticality.ROUTINE, safety=None)


def supplied(kind, volts):
    return sketch.with_tag(PLAIN, "TE-101", supply_kind=kind, supply_v=volts)


@pytest.mark.parametrize(
    ("kind", "volts", "mains"),
    [
        (SupplyKind.AC, Decimal(230), True),
        (SupplyKind.AC, Decimal(50), False),
        (SupplyKind.AC, Decimal(24), False),
        (SupplyKind.DC, Decimal(110), False),
        (SupplyKind.AC, None, True),
        (None, Decimal(230), True),
        (None, None, False),
    ],
)
def test_an_alternating_supply_above_extra_low_voltage_may_be_mains(kind, volts, mains):
    loop = supplied(kind, volts)

    assert cautions_for(loop, [loop.tag("TE-101")]).mains is mains


@pytest.mark.parametrize(
    "facts", [{"kind": LoopKind.TRIP}, {"criticality": Criticality.SAFETY}, {"safety": SafetyFunction(target_sil=1)}]
)
def test_whatever_makes_it_a_safety_loop_calls_for_the_caution(facts):
    assert cautions_for(replace(PLAIN, **facts)).safety


def test_a_zone_cautions_only_where_it_is():
    loop = sketch.with_tag(supplied(SupplyKind.DC, Decimal(24)), "TE-101", zone="1")

    assert cautions_for(loop, [loop.tag("TE-101")]) == Cautions(hazardous=True, safety=False, mains=False)
    assert not cautions_for(loop, [loop.tag("TV-101")])
    assert len(cautions_for(loop)) == 2, "a relay of the controller may switch mains"
