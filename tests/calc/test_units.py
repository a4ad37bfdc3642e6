from __future__ import annotations

from decimal import Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.calc import units
from register.calc.errors import NotANumber, UnknownSpelling, UnknownUnit, WrongDimension

PINT = pint.UnitRegistry()
# Our code beside the name by which Pint knows the unit; where Pint has none, the factor stands in the table only.
IN_PINT = {
    "CEL": "degC", "FAH": "degF", "A48": "degR", "PAL": "pascal", "A97": "hectopascal", "KPA": "kilopascal",
    "MPA": "megapascal", "MBR": "millibar", "BAR": "bar", "PS": "psi", "E42": "kgf/cm**2", "ATM": "atm",
    "DMT": "decimeter", "CMT": "centimeter", "MMT": "millimeter", "4H": "micrometer", "INH": "inch", "FOT": "foot",
    "LTR": "liter", "MLT": "milliliter", "HLT": "hectoliter", "GLL": "gallon", "GLI": "imperial_gallon",
    "BLL": "oil_barrel", "FTQ": "foot**3", "G53": "meter**3/minute", "MQH": "meter**3/hour", "G52": "meter**3/day",
    "G51": "liter/second", "L2": "liter/minute", "E32": "liter/hour", "LD": "liter/day", "40": "milliliter/second",
    "41": "milliliter/minute", "G55": "milliliter/hour", "G2": "gallon/minute", "G3": "imperial_gallon/minute",
    "2L": "foot**3/minute", "2K": "foot**3/hour", "B1": "oil_barrel/day", "GRM": "gram", "MGM": "milligram",
    "TNE": "metric_ton", "LBR": "pound", "F31": "kilogram/minute", "E93": "kilogram/hour", "F28": "gram/minute",
    "E18": "metric_ton/hour", "4U": "pound/hour", "K78": "pound/minute", "GL": "gram/liter", "23": "gram/cm**3",
    "B35": "kilogram/liter", "M1": "milligram/liter", "GP": "milligram/meter**3", "87": "pound/foot**3",
    "H61": "millisiemens/cm", "G42": "microsiemens/cm", "G43": "microsiemens/meter", "MTZ": "millihertz",
    "KHZ": "kilohertz", "2X": "meter/minute", "KMH": "kilometer/hour", "FR": "foot/minute", "C16": "millimeter/second",
    "4K": "milliampere", "B84": "microampere", "KVT": "kilovolt", "2Z": "millivolt", "D82": "microvolt",
    "B49": "kiloohm", "B75": "megaohm", "KWT": "kilowatt", "MAW": "megawatt", "BHP": "horsepower",
    "2I": "british_thermal_unit/hour", "KJO": "kilojoule", "3B": "megajoule", "WHR": "watt_hour",
    "KWH": "kilowatt_hour", "C26": "millisecond", "MIN": "minute", "HUR": "hour", "DAY": "day", "B47": "kilonewton",
    "C24": "millipascal*second", "C7": "centipoise", "4C": "centistokes", "C38": "mole/liter",
}  # fmt: skip
SI = {
    "temperature": "kelvin", "pressure": "pascal", "length": "meter", "volume": "meter**3",
    "volume flow": "meter**3/second", "mass": "kilogram", "mass flow": "kilogram/second",
    "density": "kilogram/meter**3", "conductivity": "siemens/meter", "frequency": "hertz",
    "velocity": "meter/second", "current": "ampere", "voltage": "volt", "resistance": "ohm", "power": "watt",
    "energy": "joule", "time": "second", "force": "newton", "dynamic viscosity": "pascal*second",
    "kinematic viscosity": "meter**2/second", "amount concentration": "mole/meter**3",
}  # fmt: skip


@pytest.mark.parametrize(("code", "name"), IN_PINT.items(), ids=list(IN_PINT))
def test_the_table_agrees_with_pint(code, name):
    """Pint 0.25 from PyPI, at two values, so that factor and offset are both held."""
    one = units.unit(code)
    for value in (1.0, 250.0):
        here = float(one.factor) * value + float(one.offset)
        assert here == pytest.approx(PINT.Quantity(value, name).to(SI[one.dimension]).magnitude, rel=1e-6)


def test_every_code_stands_once_in_the_table_and_every_spelling_leads_to_one():
    rows = units.read_table("units.csv")

    assert len({row["code"] for row in rows}) == len(rows)
    for row in units.read_table("unit_spellings.csv"):
        units.unit(row["code"])


@pytest.mark.parametrize("code", list(units.all_units()))
def test_a_units_own_symbol_is_a_spelling_of_it(code):
    symbol = units.unit(code).symbol

    assert units.unit(units.spelling(symbol).code).symbol == symbol


codes = st.sampled_from(list(units.all_units()))
typed = st.decimals(min_value=-(10**6), max_value=10**6, places=3)


@given(codes, codes, typed)
def test_there_and_back_is_where_one_was(source, target, value):
    if units.unit(source).dimension != units.unit(target).dimension:
        with pytest.raises(WrongDimension):
            units.convert(value, source, target)
        return
    back = units.convert(units.convert(value, source, target), target, source)

    assert abs(back - value) <= Decimal("1e-12") * max(abs(value), Decimal(1000))


def test_a_span_is_not_a_reading():
    assert units.convert(Decimal(10), "CEL", "FAH") == Decimal(50)
    assert units.convert_difference(Decimal(10), "CEL", "FAH") == Decimal(18)


@pytest.mark.parametrize(
    ("text", "code", "reference"),
    [
        ("deg C", "CEL", ""), ("℃", "CEL", ""), ("kPa gauge", "KPA", "gauge"), ("bar(g)", "BAR", "gauge"),
        ("barg", "BAR", "gauge"), ("psia", "PS", "absolute"), ("mbar diff", "MBR", "differential"),
        ("mmH2O", "HP", ""), ("m3/hr", "MQH", ""), ("Nm3/h", "MQH", "normal"), ("kg/hr", "E93", ""), ("pH", "Q30", ""),
        ("㎛", "4H", ""), ("RPM", "RPM", ""), ("mHz", "MTZ", ""), ("MW", "MAW", ""), ("µS/cm", "G42", ""),
        ("uS/cm", "G42", ""), ("mPa.s", "C24", ""), ("MPa", "MPA", ""), ("l/h", "E32", ""), ("%", "P1", ""),
    ],
)  # fmt: skip
def test_what_plants_write_is_understood(text, code, reference):
    assert units.spelling(text) == units.ParsedUnit(code, reference)


@pytest.mark.parametrize("text", ["-", "Boolean", "Voltage", "mol%", "kscmh", "bananas"])
def test_what_is_not_known_is_shown_and_never_guessed(text):
    with pytest.raises(UnknownSpelling, match=f"“{text}”"):
        units.spelling(text)


def test_bad_input_is_named():
    with pytest.raises(WrongDimension, match=r"pressure.*temperature"):
        units.convert(Decimal(1), "BAR", "CEL")
    with pytest.raises(UnknownUnit, match="XXX"):
        units.convert(Decimal(1), "XXX", "CEL")
    with pytest.raises(NotANumber):
        units.convert(Decimal("NaN"), "BAR", "KPA")


def test_gauge_and_absolute_differ_by_the_atmosphere():
    """14.69594 psi is one standard atmosphere (NIST SP 811, appendix B.8)."""
    assert units.absolute_of_gauge(Decimal(-5), "PS") == pytest.approx(Decimal("9.69594"), abs=Decimal("0.0001"))
