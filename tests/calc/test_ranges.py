from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.calc.errors import EmptySpan, NotANumber, OutOfRange, UnknownSpelling, WrongDimension
from register.calc.ranges import Range, fits_display, parse_number, parse_range
from register.calc.units import all_units

whole = st.integers(-1000, 1000)
ranges = st.builds(
    lambda low, width, code: Range(Decimal(low), Decimal(low + width), code),
    whole,
    st.integers(1, 2000),
    st.sampled_from(["CEL", "FAH", "KEL", "BAR", "KPA", "PS", "MQH", "L2"]),
)


def others_of(one: Range) -> list[str]:
    return [code for code, unit in all_units().items() if unit.dimension == one.dimension]


@given(ranges, st.data())
def test_a_range_matches_itself_in_every_unit_of_its_dimension(one, data):
    there = one.to(data.draw(st.sampled_from(others_of(one))))

    assert one.matches(there)
    assert there.matches(one)


@given(ranges, st.integers(0, 100))
def test_per_cent_of_span_goes_there_and_back(one, percent):
    assert one.percent(one.value_at(Decimal(percent))) == pytest.approx(percent)


def test_ranges_compare_after_conversion_and_within_the_tolerance_only():
    kilopascals = parse_range("0-1000 kPa")

    assert parse_range("0-10 bar").matches(kilopascals)
    assert parse_range("0-10.009 bar").matches(kilopascals)
    assert not parse_range("0-10.02 bar").matches(kilopascals)
    assert not parse_range("0-6 bar").matches(parse_range("0-6 psi"))
    assert parse_range("0-6 bar").matches(parse_range("0-87.02 psi"))


def test_gauge_absolute_and_differential_pressure_are_not_the_same():
    assert not parse_range("0-10 bar (gauge)").matches(parse_range("0-10 bar (absolute)"))
    with pytest.raises(WrongDimension):
        parse_range("0-10 bar (gauge)").in_unit_of(parse_range("0-10 bar (differential)"))


def test_a_temperature_difference_converts_without_the_offset():
    assert str(Range(Decimal(0), Decimal(10), "CEL", "difference").to("FAH")) == "0–18 °F (difference)"
    assert str(Range(Decimal(0), Decimal(10), "CEL").to("FAH")) == "32–50 °F"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("0-250 degC", "0–250 °C"), ("0…250 °C", "0–250 °C"), ("0...250 C", "0–250 °C"),
        ("-50 to 150 °C", "−50 to 150 °C"),
        ("-50 to -10 °C", "−50 to −10 °C"),
        ("0,0 - 2,5 bar(g)", "0.0–2.5 bar (gauge)"), ("-200-850 °C", "−200 to 850 °C"), ("0 °C to 120 °C", "0–120 °C"),
        ("0-3,200 l/h", "0–3200 l/h"), ("4-20 mA", "4–20 mA"), ("0–10.50 bar", "0–10.50 bar"),
        ("0~100 %", "0–100 %"), ("0 ÷ 16 bar", "0–16 bar"), ("0-1 000 kPa", "0–1000 kPa"),
        ("-200--50 °C", "−200 to −50 °C"),
        ("-1…3 bar g", "−1 to 3 bar (gauge)"), ("0 degC - 120 °C", "0–120 °C"),
    ],
)  # fmt: skip
def test_what_plants_write_is_understood_and_kept_as_typed(text, shown):
    assert str(parse_range(text)) == shown


@pytest.mark.parametrize("text", ["", "0-250", "warm", "250 degC", "0-250 bananas", "0 psi - 10 bar"])
def test_what_is_no_range_is_shown(text):
    with pytest.raises(UnknownSpelling):
        parse_range(text)


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("3,200", "3200"),
        ("0,35", "0.35"),
        ("1.234,5", "1234.5"),
        ("1,234.5", "1234.5"),
        ("−5", "-5"),
        ("12 500", "12500"),
        ("2,5", "2.5"),
        ("1 234,5", "1234.5"),
        ("1'000", "1000"),
        ("12,34,567", "1234567"),
        ("0,350", "0.350"),
        ("- 5", "-5"),
        ("1E-3", "0.001"),
    ],
)
def test_numbers_are_read_as_people_write_them(text, number):
    assert parse_number(text) == Decimal(number)


@pytest.mark.parametrize(
    "text", ["", "abc", "1..2x", "NaN", "Infinity", "4 20", "1,2,3", "1_000", "10³", "1e999999", "5-"]
)
def test_what_is_no_number_is_refused(text):
    with pytest.raises(NotANumber):
        parse_number(text)


def test_ends_that_are_no_measurable_numbers_are_refused():
    for high, error in (("NaN", NotANumber), ("Infinity", NotANumber), ("1e999999", OutOfRange)):
        with pytest.raises(error):
            Range(Decimal(0), Decimal(high), "CEL")


def test_an_empty_or_reversed_span_is_refused():
    for low, high in (("10", "10"), ("10", "0")):
        with pytest.raises(EmptySpan, match="must be below"):
            Range(Decimal(low), Decimal(high), "CEL")


def test_a_display_shows_only_what_its_digits_hold():
    assert fits_display(parse_range("0-999.9 °C"), digits=4, decimals=1)
    assert not fits_display(parse_range("0-1000 °C"), digits=4, decimals=1)
