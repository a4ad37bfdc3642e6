from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.calc import calibration, thermocouples
from register.calc.calibration import expected_at
from register.calc.errors import CalculationError, EmptySpan, NotANumber, OutOfRange, WrongDimension
from register.calc.ranges import parse_range
from register.calc.signals import SIGNALS

MILLIAMPS = SIGNALS["4-20mA"]


@pytest.mark.parametrize(
    ("signal", "text", "at_half", "symbol"),
    [
        ("4-20mA", "0-250 kPa", 12.0, "mA"),
        ("pt100", "0-250 degC", 147.95, "Ω"),
        ("pt1000", "0-100 degC", 1193.97, "Ω"),
        ("tc-K", "0-1000 degC", 20.644, "mV"),
        ("tc-K", "32-1832 degF", 20.644, "mV"),
        ("3-15psi", "0-10 bar", 9.0, "psi"),
    ],
)
def test_what_to_expect_at_half_of_the_range(signal, text, at_half, symbol):
    """Printed values of NIST Monograph 175 and IEC 60751; spans of IEC 60381-1 and ISA-S7.4."""
    expected = expected_at(50, parse_range(text), SIGNALS[signal])

    assert (expected.electrical, expected.symbol) == (pytest.approx(at_half, abs=0.005), symbol)


def test_the_source_at_a_thermocouple_input_gives_the_emf_less_that_of_its_terminals():
    """Type S at 1350 °C with terminals at 35 °C: 13.5622 mV (NIST Monograph 175: 13.7658 less 0.2036)."""
    expected = expected_at(100, parse_range("0-1350 degC"), SIGNALS["tc-S"], reference_c=35)

    assert expected.electrical == pytest.approx(13.5622, abs=5e-5)


@pytest.mark.parametrize(
    ("percent", "before", "after"),
    [(0, 4, 4), (25, 12, 5), (50, 15.3137, 8), (75, 17.8564, 13), (100, 20, 20)],
)
def test_a_root_before_the_signal_or_after_it(percent, before, after):
    """Flow is the root of differential pressure (ISO 5167-1); currents by proportion (IEC 60381-1)."""
    head, flow = parse_range("0-25 kPa"), parse_range("0-80 m3/h")

    assert expected_at(percent, head, MILLIAMPS, square_root=True).electrical == pytest.approx(before, abs=5e-5)
    assert expected_at(percent, flow, MILLIAMPS, square_root_after=True).electrical == pytest.approx(after, abs=5e-5)


@pytest.mark.parametrize("key", [key for key, of in SIGNALS.items() if of.is_span])
def test_a_reversed_signal_is_high_where_the_value_is_low(key):
    low, high = (
        expected_at(percent, parse_range("0-10 bar"), SIGNALS[key], reversed_=True).electrical for percent in (0, 100)
    )

    assert (high, low) == pytest.approx(SIGNALS[key].ends)


@pytest.mark.parametrize("letter", thermocouples.TYPES)
@given(percent=st.floats(0, 100))
def test_what_is_injected_simulates_the_value(letter, percent):
    expected = expected_at(
        percent, parse_range("450-1700 K" if letter == "B" else "0-350 degC"), SIGNALS[f"tc-{letter}"]
    )

    shown = thermocouples.temperature(letter, expected.electrical)
    assert shown == pytest.approx(expected.value - (273.15 if letter == "B" else 0), abs=1e-3)


def test_points_go_up_and_down_and_the_top_counts_once():
    """IEC 61298-2 and ISA-51.1: five points up and down."""
    assert calibration.up_and_down() == (0, 25, 50, 75, 100, 75, 50, 25, 0)
    assert calibration.percents(11)[3] == 30


def test_errors_are_in_per_cent_of_the_output_span():
    """0.04 mA of 16 mA is 0.25 %; 0.03 of 20 is 0.15 % (IEC 61298-2, ISA-51.1)."""
    assert calibration.error_percent_of_span(50, 12.04, (-50, 150), (4, 20)) == pytest.approx(0.25)
    assert calibration.error_percent_of_span(5, 9.97, (0, 10), (0, 20)) == pytest.approx(-0.15)
    assert calibration.error_percent_of_span(150, 150.5, (0, 250), (0, 250)) == pytest.approx(0.2)
    assert calibration.error_percent_of_span(25, 16.04, (0, 100), (20, 4)) == pytest.approx(0.25)


def test_three_points_with_031_per_cent_at_the_middle_fail_a_quarter_per_cent():
    worst = calibration.worst_error_percent([4.00, 12.05, 20.01], (4, 20))

    assert worst == pytest.approx(0.3125, abs=0.0001)
    assert not calibration.passes(worst, 0.25)
    assert calibration.passes(worst, 0.3125)


def test_hysteresis_and_drift_are_the_largest_differences():
    """0.04 mA of 16 mA between the runs (ISA-51.1); between two calibrations −0.2 outweighs 0.1."""
    up, down = [4.0, 8.01, 12.02, 16.01, 20.0], [4.01, 8.05, 12.05, 16.03, 20.0]

    assert calibration.hysteresis_percent(up, down, (4, 20)) == pytest.approx(0.25)
    assert calibration.drift_percent([0.0, 0.1, 0.0], [0.1, -0.1, 0.0]) == pytest.approx(-0.2)


def test_a_tolerance_is_stated_in_any_unit_without_the_offset():
    """0.25 % of 200 K is 0.5 K, which is 0.9 °F."""
    assert calibration.in_unit(0.25, parse_range("0-200 degC"), "CEL") == pytest.approx(0.5)
    assert calibration.in_unit(-0.25, parse_range("0-200 degC"), "FAH") == pytest.approx(-0.9)


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: expected_at(50, parse_range("0-10 bar"), SIGNALS["relay-contact"]), EmptySpan, "carries no value"),
        (lambda: expected_at(50, parse_range("0-10 bar"), SIGNALS["pt100"]), WrongDimension, "pressure"),
        (lambda: expected_at(50, parse_range("0-9 delta degC"), SIGNALS["pt100"]), WrongDimension, "difference of two"),
        (lambda: expected_at(100, parse_range("0-1400 degC"), SIGNALS["tc-K"]), OutOfRange, "-270 to 1372 °C"),
        (lambda: expected_at(math.nan, parse_range("0-10 bar"), MILLIAMPS), NotANumber, "percent"),
        (lambda: calibration.percents(1), CalculationError, "at least two points"),
        (lambda: calibration.error_percent_of_span(1, math.nan, (0, 1), (4, 20)), NotANumber, "measured"),
        (lambda: calibration.error_percent_of_span(1, 4, (0, 1), (4, 4)), EmptySpan, "from 4 to 4"),
        (lambda: calibration.error_percent_of_span(1, 4, (1, 1), (4, 20)), EmptySpan, "no width"),
        (lambda: calibration.hysteresis_percent([4], [4, 5], (4, 20)), CalculationError, "one has 1, the other 2"),
        (lambda: calibration.drift_percent([], []), CalculationError, "same points"),
        (lambda: calibration.drift_percent([0.1], [math.nan]), NotANumber, "reading 2"),
        (lambda: calibration.passes(0.1, 0), OutOfRange, "tolerance must be above 0"),
        (lambda: calibration.in_unit(0.1, parse_range("0-10 bar"), "CEL"), WrongDimension, "temperature"),
    ],
)  # fmt: skip
def test_bad_input_says_what_is_valid(call, error, words):
    with pytest.raises(error, match=words):
        call()
