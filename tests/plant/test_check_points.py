"""Readings and their errors at the points of a check, against figures from outside."""

from __future__ import annotations

import pytest

from register.plant import sketch
from register.plant.check_points import NothingToCheck, check_of


def check(loop, name):
    return check_of(loop, loop.tag(name))


def shown(side):
    return [f"{side.shown(percent):f}" for percent in (0, 25, 50, 75, 100)]


def test_a_transmitter_is_given_its_process_value_and_says_milliamps():
    """IEC 60381-1: 4, 8, 12, 16 and 20 mA at 0, 25, 50, 75 and 100 %."""
    found = check(sketch.pressure_loop(), "PT-201")

    assert (found.applied.symbol, shown(found.applied)) == ("bar (gauge)", ["0", "2.5", "5", "7.5", "10"])
    assert (found.expected.symbol, shown(found.expected)) == ("mA", ["4.000", "8.000", "12.000", "16.000", "20.000"])
    assert found.expect == "4–20 mA at Output"


def test_a_controller_is_given_the_signal_and_says_the_value():
    found = check(sketch.pressure_loop(), "PIC-201")

    assert (found.applied.symbol, shown(found.applied)) == ("mA", ["4.000", "8.000", "12.000", "16.000", "20.000"])
    assert (found.expected.symbol, shown(found.expected)) == ("bar (gauge)", ["0", "2.5", "5", "7.5", "10"])


def test_a_platinum_sensor_is_checked_over_the_range_of_its_loop():
    """IEC 60751:2008, table 1: 100.00, 119.40, 138.51, 157.33 and 175.86 Ω at 0, 50, 100, 150 and 200 °C."""
    found = check(sketch.temperature_loop(), "TE-101")

    table = [100.00, 119.40, 138.51, 157.33, 175.86]
    assert [found.expected.at(percent) for percent in (0, 25, 50, 75, 100)] == pytest.approx(table, abs=0.006)
    assert found.expected.symbol == "Ω"


def test_the_error_of_a_sensor_is_that_of_the_temperature_it_stands_for():
    """IEC 60751:2008, table 1: 138.51 Ω is 100 °C and 138.88 Ω 101 °C, which is 0.5 % of 0 to 200 °C."""
    found = check(sketch.temperature_loop(), "TE-101")

    assert found.expected.error_percent(138.88, 50) == pytest.approx(0.5, abs=0.01)


def test_the_error_of_a_transmitter_is_in_per_cent_of_its_signal():
    """12.05 mA for 12 mA is 0.05 of 16 mA, 0.3125 % of span (ISA-51.1)."""
    found = check(sketch.pressure_loop(), "PT-201")

    assert found.expected.error_percent(12.05, 50) == pytest.approx(0.3125)


def test_a_reversed_transmitter_that_sends_too_little_says_too_much():
    loop = sketch.with_port(sketch.pressure_loop(), "PT-201", "Output", reversed=True)
    found = check(loop, "PT-201")

    assert shown(found.expected)[0] == "20.000"
    assert found.expected.error_percent(11.95, 50) == pytest.approx(0.3125)


def test_a_reader_that_extracts_the_root_is_given_the_square():
    """Half the flow is a quarter of the differential pressure (ISO 5167-1:2003, 5): 8 mA."""
    found = check(sketch.flow_loop(), "FIC-501")

    assert f"{found.applied.shown(50):f}" == "8.000"


@pytest.mark.parametrize(("reading", "can"), [(0, True), (24, True), (24.01, False), (-0.1, False), (138.5, False)])
def test_what_a_transmitter_cannot_send_is_told_from_what_it_sends_wrongly(reading, can):
    """Common practice, no source: a 4–20 mA sender can be found at anything from a dead 0 to 24 mA."""
    assert check(sketch.pressure_loop(), "PT-201").could_say(reading, 50) is can


def test_a_sensor_cannot_say_what_no_such_sensor_gives():
    assert check(sketch.temperature_loop(), "TE-101").could_say(5000, 50) is False


def test_a_tag_without_a_range_says_that_its_range_is_missing():
    loop = sketch.with_port(sketch.pressure_loop(), "PT-201", "Output", range=None)

    with pytest.raises(NothingToCheck, match="The range of PT-201 is not recorded"):
        check(loop, "PT-201")


def test_a_valve_has_nothing_to_measure():
    with pytest.raises(NothingToCheck, match="no measurement port"):
        check(sketch.pressure_loop(), "PV-201")
