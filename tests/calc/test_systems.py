"""Circuits, buses, intrinsic safety and panels by the worked examples of the trade."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.calc import intrinsic_safety, loop_power, panel, serial_bus
from register.calc.errors import CalculationError, NotANumber, OutOfRange
from register.calc.intrinsic_safety import CableRun, Device, Source


def test_the_voltage_left_at_a_transmitter():
    """24 V, 250 Ω input, 350 Ω barrier, 1 km of 0.5 mm² (72 Ω): 8.9 V at 22.5 mA (Ohm's law)."""
    series = 250 + 350 + loop_power.run_ohm(loop_power.conductor_ohm_per_km(0.5), 1000)

    assert loop_power.transmitter_v(24, series, 22.5) == pytest.approx(8.88, abs=0.005)


@given(st.floats(13, 60), st.floats(0, 500), st.floats(1, 100), st.floats(3, 25))
def test_at_the_greatest_length_the_least_voltage_is_left(supply, burden, cable, current):
    greatest = loop_power.greatest_burden_ohm(supply, 12, current)
    length = loop_power.greatest_length_m(greatest, burden, cable)

    if length:
        left = loop_power.transmitter_v(supply, burden + loop_power.run_ohm(cable, length), current)
        assert left == pytest.approx(12, abs=1e-9)


def test_gauges_larger_than_0_have_their_own_names():
    """ASTM B258: 4/0 has a diameter of 11.684 mm, 36 of 0.127 mm."""
    assert loop_power.awg_diameter_mm("4/0") == pytest.approx(11.684, abs=0.0005)
    assert loop_power.awg_diameter_mm("0000") == loop_power.awg_diameter_mm(-3)


def test_large_stores_halve_the_allowance():
    """Co 83 nF, Lo 4.2 mH; Ci 5 nF, Li 0.1 mH, cable 45 nF: 50 nF against 41.5 nF (IEC 60079-14, from memory)."""
    source, cable = Source(28, 93, 650, 83, 4.2), CableRun(100, 0.7, 450)

    large = intrinsic_safety.compare(source, Device(30, 100, 700, 5, 0.1), cable)
    small = intrinsic_safety.compare(source, Device(30, 100, 700, 5, 0.01), cable)

    assert (large.fails, large.capacitance_nf, large.co_nf) == (("C",), 50, 41.5)
    assert small.passes
    assert "competent person" in small.caution


@pytest.mark.parametrize(("group", "co_nf"), [("IIC", 600), ("IIB", 1000), (None, 1000)])
def test_halved_allowances_have_a_ceiling_of_their_own(group, co_nf):
    """600 nF in group IIC, 1 µF in any other (IEC 60079-14, from memory)."""
    source, device, cable = Source(9, 500, 1100, 4900, 0.14), Device(10, 600, 1200, 100, 0.01), CableRun(200, 1, 10)

    assert intrinsic_safety.compare(source, device, cable, group=group).co_nf == co_nf


@given(st.floats(0, 1000), st.floats(0, 1000), st.floats(0, 10), st.floats(0, 10), st.floats(1, 400), st.floats(0, 2))
def test_at_its_greatest_length_a_cable_is_still_allowed(co, ci, lo, li, capacitance, inductance):
    length = intrinsic_safety.greatest_cable_m(co, ci, lo, li, capacitance, inductance)
    fails = intrinsic_safety.compare(
        Source(0, 0, 0, co, lo), Device(0, 0, 0, ci, li), CableRun(capacitance, inductance, length), halve=False
    ).fails

    assert not fails or ci > co or li > lo


@pytest.mark.parametrize(
    ("level", "zones"), [("ia", ("0", "1", "2")), ("ib", ("1", "2")), ("ic", ("2",))], ids=lambda of: str(of)
)
def test_a_level_of_intrinsic_safety_suits_its_zones_and_those_less_severe(level, zones):
    """IEC 60079-14 (from memory)."""
    assert {zone for zone in "012" if intrinsic_safety.level_suits(level, zone)} == set(zones)


def test_a_bus_of_35_unit_loads_is_too_much():
    assert serial_bus.bus_load([(20, 1), (30, 0.5)]) == 35
    assert not serial_bus.bus_carries([(20, 1), (30, 0.5)])


@pytest.mark.parametrize(("text", "bits", "rtu"), [("8E1", 11, True), ("8N2", 11, True), ("8N1", 10, False)])
def test_a_character_of_rtu_mode_has_eleven_bits(text, bits, rtu):
    """MODBUS over serial line V1.02, 2.5.1."""
    assert (serial_bus.framing(text).bits, serial_bus.framing(text).is_rtu) == (bits, rtu)


def test_a_front_is_not_its_hole():
    assert panel.fits_cutout(96, 96, 92.4, 92.5)
    assert not panel.fits_cutout(48, 96, 92, 45)
    assert not panel.fits_cutout(96, 96, 96, 96)
    with pytest.raises(CalculationError, match="sides of 24"):
        panel.cutout_mm(97, 96)


def test_bad_input_says_what_is_valid():
    with pytest.raises(OutOfRange, match="below the 12 V"):
        loop_power.greatest_burden_ohm(10, 12, 20)
    with pytest.raises(NotANumber):
        loop_power.transmitter_v(float("nan"), 250, 20)
    with pytest.raises(CalculationError, match="no gas group"):
        intrinsic_safety.group_suits("IIX", "IIC")
    with pytest.raises(CalculationError, match="no level of intrinsic safety"):
        intrinsic_safety.level_suits("id", "1")
    with pytest.raises(OutOfRange, match="resistance must be 0 or more"):
        loop_power.resistance_at(-1, 20)
    with pytest.raises(OutOfRange, match="above −230 °C"):
        loop_power.correction_to_20_c(-230)
    with pytest.raises(OutOfRange, match="up to 10 Mbit/s"):
        serial_bus.greatest_length_m(12_000_000)
    with pytest.raises(CalculationError, match="no framing"):
        serial_bus.framing("9E1")
