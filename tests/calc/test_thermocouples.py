from __future__ import annotations

import math

import pytest
import thermocouple_its90
from hypothesis import given
from hypothesis import strategies as st

from register.calc import thermocouples
from register.calc.errors import CalculationError, NotANumber, OutOfRange
from register.calc.thermocouples import couple, emf, temperature

NIST_TYPES = "BEJKNRST"


def within(letter: str) -> st.SearchStrategy[float]:
    """Temperatures over the whole range of a type, type B above where it is single valued."""
    of = couple(letter)
    return st.floats(42.2 if letter == "B" else of.t_min_c, of.t_max_c)


typed_temperatures = st.sampled_from(thermocouples.TYPES).flatmap(
    lambda letter: st.tuples(st.just(letter), within(letter))
)


@given(typed_temperatures)
def test_the_inverse_returns_the_temperature_within_a_millikelvin(case):
    letter, t_c = case

    assert temperature(letter, emf(letter, t_c)) == pytest.approx(t_c, abs=1e-3)


@given(typed_temperatures, st.floats(0, 50))
def test_cold_junction_compensation_cancels_where_the_terminals_are_known(case, reference_c):
    letter, t_c = case

    assert temperature(letter, emf(letter, t_c, reference_c), reference_c) == pytest.approx(t_c, abs=1e-3)


@given(typed_temperatures, st.floats(0.01, 20))
def test_the_emf_rises_with_temperature(case, step):
    letter, t_c = case
    higher = min(t_c + step, couple(letter).t_max_c)

    assert higher == t_c or emf(letter, higher) > emf(letter, t_c)


@pytest.mark.parametrize("letter", thermocouples.TYPES)
def test_the_polynomials_meet_at_their_joins(letter):
    for piece in couple(letter).forward[:-1]:
        below, above = emf(letter, piece.high), emf(letter, math.nextafter(piece.high, math.inf))
        assert above - below == pytest.approx(0, abs=5e-5)


@pytest.mark.parametrize("letter", NIST_TYPES)
def test_the_emf_agrees_with_a_general_purpose_library(letter):
    """thermocouple-its90 1.0.2 from PyPI, over the whole range in 200 steps."""
    of, other = couple(letter), thermocouple_its90.get(letter)
    for place in range(201):
        t_c = of.t_min_c + (of.t_max_c - of.t_min_c) * place / 200
        assert emf(letter, t_c) == pytest.approx(other.emf(t_c), abs=1e-4)


@given(typed_temperatures)
def test_the_seebeck_coefficient_is_the_slope_of_the_emf(case):
    letter, t_c = case
    of, step = couple(letter), 1e-3
    low, high = max(t_c - step, of.t_min_c), min(t_c + step, of.t_max_c)
    if any(low < piece.high < high for piece in of.forward):
        return

    slope = (emf(letter, high) - emf(letter, low)) / (high - low) * 1000
    assert thermocouples.seebeck_uv_per_k(letter, t_c) == pytest.approx(slope, abs=0.05)


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: emf("K", 1400), OutOfRange, "-270 to 1372 °C"),
        (lambda: emf("K", math.nan), NotANumber, "finite"),
        (lambda: temperature("K", 80), OutOfRange, "-6.458 to 54.886 mV"),
        (lambda: temperature("B", -0.001), OutOfRange, "0.000 to 13.820 mV"),
        (lambda: temperature("K", math.inf), NotANumber, "finite"),
        (lambda: emf("Q", 20), CalculationError, "no thermocouple type"),
        (lambda: thermocouples.tolerance_k("K", "1", 1100), OutOfRange, "-40 to 1000 °C"),
        (lambda: thermocouples.tolerance_k("R", "3", 1000), CalculationError, "no class 3 for type R"),
    ],
)
def test_bad_input_says_what_is_valid(call, error, words):
    with pytest.raises(error, match=words):
        call()


def test_a_wrong_extension_cable_and_a_crossed_one_read_what_the_trade_says():
    """Type K at 400 °C, head 60 °C, panel 25 °C (NIST Monograph 175, law of intermediate temperatures)."""
    assert thermocouples.shown_with_wrong_cable("K", "J", 400, 60, 25) == pytest.approx(409.5, abs=0.05)
    assert thermocouples.shown_with_wrong_cable("K", None, 400, 60, 25) == pytest.approx(365.9, abs=0.05)
    assert thermocouples.shown_with_crossed_cable("K", 400, 60, 25) == pytest.approx(331.6, abs=0.05)


@pytest.mark.parametrize(
    ("letter", "tolerance_class", "standard", "t_c", "tolerance"),
    [
        ("K", "2", "IEC 60584-1", 333, 2.5), ("E", "3", "IEC 60584-1", -190, 2.85), ("T", "1", "IEC 60584-1", 350, 1.4),
        ("S", "1", "IEC 60584-1", 1100, 1.0), ("R", "1", "IEC 60584-1", 1500, 2.2),
        ("B", "2", "IEC 60584-1", 1200, 3.0),
        ("J", "standard", "ASTM E230", 500, 3.75), ("K", "special", "ASTM E230", 1000, 4.0),
        ("E", "standard", "ASTM E230", -180, 1.8), ("C", "standard", "ASTM E230", 2000, 20.0),
    ],
)  # fmt: skip
def test_a_class_has_the_tolerance_of_its_standard(letter, tolerance_class, standard, t_c, tolerance):
    """IEC 60584-1:2013 and ASTM E230/E230M-12 as printed in public tables; R class 1 above 1100 °C from memory."""
    assert thermocouples.tolerance_k(letter, tolerance_class, t_c, standard) == pytest.approx(tolerance, abs=1e-9)


@pytest.mark.parametrize(
    ("letter", "standard", "grade", "positive", "negative", "sheath"),
    [
        ("K", "IEC 60584-3", "", "green", "white", "green"),
        ("K", "ASTM E230", "extension", "yellow", "red", "yellow"),
        ("K", "ASTM E230", "thermocouple", "yellow", "red", "brown"),
        ("K", "DIN 43710", "", "red", "green", "green"),
        ("L", "DIN 43710", "", "red", "blue", "blue"),
        ("S", "NF C 42", "", "yellow", "green", "green"),
        ("T", "JIS C 1610", "", "red", "white", "brown"),
    ],
)
def test_a_cable_has_the_colours_of_its_code(letter, standard, grade, positive, negative, sheath):
    """Public colour tables. Red is negative in America and was positive in Germany and Japan."""
    colour = thermocouples.cable_colour(letter, standard, grade=grade)

    assert (colour.positive, colour.negative, colour.sheath) == (positive, negative, sheath)


def test_withdrawn_colour_codes_are_marked():
    by_standard = {colour.standard: colour.current for colour in thermocouples.cable_colours()}

    assert by_standard["IEC 60584-3"] is True
    assert by_standard["BS 1843"] is False
