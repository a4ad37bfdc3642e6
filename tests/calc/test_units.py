from __future__ import annotations

from decimal import Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.calc import units
from register.calc.errors import NotANumber, OutOfRange, UnknownSpelling, UnknownUnit, WrongDimension

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
    "2I": "international_british_thermal_unit/hour", "KJO": "kilojoule", "3B": "megajoule", "WHR": "watt_hour",
    "KWH": "kilowatt_hour", "C26": "millisecond", "MIN": "minute", "HUR": "hour", "DAY": "day", "B47": "kilonewton",
    "C24": "millipascal*second", "C7": "centipoise", "4C": "centistokes", "C38": "mole/liter",
    "74": "millipascal", "C56": "newton/mm**2", "N20": "kip_per_square_inch", "UA": "torr", "KMT": "kilometer",
    "C45": "nanometer", "YRD": "yard", "CMK": "cm**2", "MMK": "mm**2", "FTK": "foot**2", "DMQ": "dm**3",
    "CMQ": "cm**3", "MAL": "megaliter", "INQ": "inch**3", "2J": "cm**3/second", "G49": "cm**3/minute",
    "4X": "kiloliter/hour", "G50": "gallon/hour", "E17": "foot**3/second", "2U": "megagram", "ONZ": "ounce",
    "STN": "short_ton", "LTN": "long_ton", "F30": "kilogram/day", "F29": "gram/second", "F27": "gram/hour",
    "L71": "metric_ton/day", "4W": "short_ton/hour", "K81": "pound/second", "A93": "gram/meter**3",
    "GE": "pound/gallon", "H29": "microgram/liter", "GQ": "microgram/meter**3", "H43": "siemens/cm",
    "MHZ": "megahertz", "2M": "cm/second", "M60": "meter/hour", "H81": "mm/minute", "FS": "foot/second",
    "IU": "inch/second", "HM": "mile/hour", "E45": "milliohm", "C31": "milliwatt",
    "E16": "megainternational_british_thermal_unit/hour", "MVA": "megavolt*ampere", "KVR": "kilovolt*ampere",
    "MAR": "megavolt*ampere",
    "C15": "millijoule", "GV": "gigajoule", "MWH": "megawatt*hour", "BTU": "international_british_thermal_unit",
    "E14": "kilointernational_calorie", "B98": "microsecond", "WEE": "week", "C20": "millinewton", "B73": "meganewton",
    "B37": "kilogram_force", "C78": "pound_force", "B48": "kilonewton*meter", "B38": "kilogram_force*meter",
    "M92": "pound_force*foot", "F21": "pound_force*inch", "C17": "mm**2/second", "M33": "millimole/liter",
    "B46": "kilomole/meter**3", "K58": "kilomole/hour", "B42": "kilojoule/kilogram", "JM": "megajoule/meter**3",
    "F11": "delta_degC/minute", "F10": "delta_degC/hour", "J24": "delta_degF/minute", "J23": "delta_degF/hour",
    "H13": "delta_degC/minute", "H12": "delta_degC/hour", "H14": "delta_degC/second", "KVA": "kilovolt*ampere",
    "HN": "mmHg", "HP": "mmH2O", "H78": "cmH2O", "F78": "inch_H2O", "K24": "ftH2O", "F79": "inHg",
}  # fmt: skip
SI = {
    "temperature": "kelvin", "pressure": "pascal", "length": "meter", "volume": "meter**3",
    "volume flow": "meter**3/second", "mass": "kilogram", "mass flow": "kilogram/second",
    "density": "kilogram/meter**3", "conductivity": "siemens/meter", "frequency": "hertz",
    "velocity": "meter/second", "current": "ampere", "voltage": "volt", "resistance": "ohm", "power": "watt",
    "energy": "joule", "time": "second", "force": "newton", "dynamic viscosity": "pascal*second",
    "kinematic viscosity": "meter**2/second", "amount concentration": "mole/meter**3", "area": "meter**2",
    "apparent power": "volt*ampere", "reactive power": "volt*ampere", "torque": "newton*meter",
    "molar flow": "mole/second", "specific energy": "joule/kilogram", "energy density": "joule/meter**3",
    "temperature rate": "kelvin/second",
}  # fmt: skip


@pytest.mark.parametrize(("code", "name"), IN_PINT.items(), ids=list(IN_PINT))
def test_the_table_agrees_with_pint(code, name):
    """Pint 0.25 from PyPI, at two values, so that factor and offset are both held."""
    one = units.unit(code)
    for value in (1.0, 250.0):
        here = float(one.factor) * value + float(one.offset)
        assert here == pytest.approx(PINT.Quantity(value, name).to(SI[one.dimension]).magnitude, rel=1e-9)


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
        ("mW", "C31", ""), ("MHz", "MHZ", ""), ("mPa", "74", ""), ("MPA", "MPA", ""), ("mg", "MGM", ""),
        ("M", "MTR", ""),
        ("mL/min", "41", ""), ("KPA", "KPA", ""), ("DEG C", "CEL", ""), ("in. w.c.", "F78", ""), ("Torr", "UA", ""),
        ("mmHgA", "HN", "absolute"), ("inHg abs.", "F79", "absolute"), ("kPa dp", "KPA", "differential"),
        ("[bar]", "BAR", ""), ("bar_a", "BAR", "absolute"), ("Nl/h", "E32", "normal"), ("Sm³/d", "G52", "standard"),
        ("Nm", "NU", ""), ("nm", "C45", ""), ("°P", "PLA", ""), ("m^3/h", "MQH", ""), ('"WC', "F78", ""),
    ],
)  # fmt: skip
def test_what_plants_write_is_understood(text, code, reference):
    assert units.spelling(text) == units.ParsedUnit(code, reference)


@pytest.mark.parametrize(
    "text",
    [
        "-",
        "Boolean",
        "Voltage",
        "mol%",
        "kscmh",
        "bananas",
        "",
        "mw",
        "mhz",
        "ML",
        "MG",
        "deg",
        "ton",
        "SG",
        "NM",
        "Nbar",
    ],
)
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
    with pytest.raises(OutOfRange, match="1e-50 and 1e50"):
        units.convert(Decimal("1e999999"), "BAR", "KPA")


def test_gauge_and_absolute_differ_by_the_atmosphere():
    """14.69594 psi is one standard atmosphere (NIST SP 811, appendix B.8)."""
    assert units.absolute_of_gauge(Decimal(-5), "PS") == pytest.approx(Decimal("9.69594"), abs=Decimal("0.0001"))
