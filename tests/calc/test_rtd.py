from __future__ import annotations

import math

import pytest
import rtd_sensor.pt100
import rtd_sensor.pt1000
from hypothesis import given
from hypothesis import strategies as st

from register.calc import rtd
from register.calc.errors import CalculationError, NotANumber, OutOfRange

curve_temperatures = st.sampled_from(list(rtd.curves().values())).flatmap(
    lambda curve: st.tuples(
        st.just(curve), st.floats(curve.t_min_c, curve.t_max_c), st.sampled_from([100.0, 500.0, 1000.0])
    )
)


@given(curve_temperatures)
def test_the_inverse_returns_the_temperature_within_a_millikelvin(case):
    curve, t_c, r0_ohm = case

    assert rtd.temperature(rtd.resistance(t_c, r0_ohm, curve), r0_ohm, curve) == pytest.approx(t_c, abs=1e-3)


@given(curve_temperatures, st.floats(0.01, 20))
def test_resistance_rises_with_temperature(case, step):
    curve, t_c, r0_ohm = case
    higher = min(t_c + step, curve.t_max_c)

    assert higher == t_c or rtd.resistance(higher, r0_ohm, curve) > rtd.resistance(t_c, r0_ohm, curve)


@pytest.mark.parametrize("r0_ohm", [100, 1000])
def test_resistance_agrees_with_a_general_purpose_library(r0_ohm):
    """rtd-sensor 0.8.0 from PyPI, over the whole range in 200 steps."""
    other = {100: rtd_sensor.pt100, 1000: rtd_sensor.pt1000}[r0_ohm]
    for place in range(201):
        t_c = -200 + 1050 * place / 200
        assert rtd.resistance(t_c, r0_ohm) == pytest.approx(other.celsius_to_resistance(t_c), abs=1e-6 * r0_ohm)


@pytest.mark.parametrize("name", list(rtd.curves()))
def test_the_curve_is_continuous_at_0_degrees(name):
    curve = rtd.curve(name)
    if curve.t_min_c < 0:
        assert rtd.resistance(-1e-9, 100, curve) == pytest.approx(rtd.resistance(1e-9, 100, curve), abs=1e-6)


@pytest.mark.parametrize(
    ("t_c", "ohm"),
    [(-200, 18.52), (-100, 60.26), (0, 100.00), (100, 138.51), (400, 247.09), (850, 390.48)],
)
def test_a_pt100_has_the_resistance_of_the_table(t_c, ohm):
    """IEC 60751:2008, table 1, printed to 0.01 Ω."""
    assert rtd.resistance(t_c) == pytest.approx(ohm, abs=0.005)


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: rtd.resistance(900), OutOfRange, "-200 to 850 °C"),
        (lambda: rtd.temperature(400), OutOfRange, "18.52 to 390.48 Ω"),
        (lambda: rtd.resistance(math.nan), NotANumber, "finite"),
        (lambda: rtd.tolerance_k("A", 400, "film"), OutOfRange, "-30 to 300 °C"),
        (lambda: rtd.element("tc-K"), CalculationError, "no platinum element"),
        (lambda: rtd.element("pt100-20"), CalculationError, "no platinum element"),
        (lambda: rtd.resistance(20, 0), OutOfRange, "above 0"),
        (lambda: rtd.lead_error_k(850, 5), OutOfRange, "18.52 to 390.48 Ω"),
        (lambda: rtd.wire_colours(5), CalculationError, "2, 3 or 4 wires"),
        (lambda: rtd.tolerance_class("D"), CalculationError, "no class D"),
        (lambda: rtd.self_heating_k(1, 100, 0), OutOfRange, "above 0"),
    ],
)
def test_bad_input_says_what_is_valid(call, error, words):
    with pytest.raises(error, match=words):
        call()


def test_a_two_wire_pt100_reads_high_by_its_leads_and_a_pt1000_a_tenth_of_that():
    """20 m of 0.5 mm² at 36.0 Ω/km there and back is 1.44 Ω: +3.80 and +0.38 K at 100 °C (IEC 60751 sensitivity)."""
    assert rtd.lead_error_k(100, 1.44) == pytest.approx(3.80, abs=0.005)
    assert rtd.lead_error_k(100, 1.44, 1000) == pytest.approx(0.38, abs=0.005)


def test_three_wires_leave_the_difference_of_two_cores_and_self_heating_goes_with_the_current_squared():
    """0.2 Ω at 0 °C over 0.39083 Ω/K is 0.512 K (IEC 60751); 1 mA in 100 Ω is 0.1 mW (Joule)."""
    assert rtd.lead_error_k(0, 0.2) == pytest.approx(0.512, abs=5e-4)
    assert rtd.self_heating_k(2.0, 100.0, 4.0) == pytest.approx(4 * 0.025)


@pytest.mark.parametrize(
    ("name", "construction", "device", "t_c", "tolerance"),
    [
        ("AA", "wire wound", "thermometer", 250, 0.525), ("A", "film", "thermometer", -30, 0.21),
        ("B", "film", "thermometer", 500, 2.8), ("C", "wire wound", "thermometer", -196, 2.56),
        ("W 0.1", "wire wound", "resistor", 350, 0.695), ("F0.6", "film", "resistor", 600, 6.6),
    ],
)  # fmt: skip
def test_a_class_has_the_tolerance_of_the_standard(name, construction, device, t_c, tolerance):
    """IEC 60751:2008, 5.1: 0.1 + 0.0017|t|, 0.15 + 0.002|t|, 0.3 + 0.005|t|, 0.6 + 0.01|t|."""
    assert rtd.tolerance_k(name, t_c, construction, device) == pytest.approx(tolerance, abs=1e-9)


def test_the_second_element_is_told_from_the_first_by_its_wires():
    assert rtd.wire_colours(3) == ("red", "red", "white")
    assert rtd.wire_colours(3, 2) == ("black or grey", "black or grey", "yellow")


def test_a_pt1000_on_a_pt100_input_is_far_over_range():
    with pytest.raises(OutOfRange, match=r"390\.48"):
        rtd.shown_with_wrong_curve(25, rtd.element("pt1000"), rtd.element("pt100"))
