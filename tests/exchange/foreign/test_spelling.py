"""What people write is read as they mean it; what could mean two things is not read at all."""

from __future__ import annotations

from contextlib import suppress
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.calc.ranges import Range
from register.calc.units import ParsedUnit
from register.exchange.cells import CellProblem
from register.exchange.foreign import spelling
from register.exchange.foreign.targets import Hand, shown, targets

CELSIUS = ParsedUnit("CEL")


@pytest.mark.parametrize(
    ("text", "low", "high", "unit"),
    [
        ("0-250 degC", "0", "250", "CEL"),
        ("0…250 °C", "0", "250", "CEL"),
        ("-50 to 150 C", "-50", "150", "CEL"),
        ("0 ÷ 10 bar", "0", "10", "BAR"),
        ("0,0 bis 2,5 bar(g)", "0.0", "2.5", "BAR"),
        ("0 à 1,6 MPa", "0", "1.6", "MPA"),
        ("0–3,200 l/h", "0", "3200", "E32"),
    ],
)
def test_ranges(text, low, high, unit):
    """Common practice, no source."""
    decimal = "," if ",5" in text or ",6" in text else "."
    read = spelling.range_(text, decimal)
    assert (read.low, read.high, read.unit) == (Decimal(low), Decimal(high), unit)


@pytest.mark.parametrize(
    ("key", "text", "reads"),
    [
        ("signal", "4/20mA", "4–20 mA"),
        ("signal", "4 - 20 mA", "4–20 mA"),
        ("signal", "Pt 100 3w", "Pt100"),
        ("signal", "K t/c", "type K thermocouple"),
        ("cutout", "1/4 DIN", "92 × 92 mm"),
        ("cutout", "1/8 DIN vertical", "45 × 92 mm"),
        ("cutout", "48x96", "45 × 92 mm"),
        ("unit", "kPa gauge", "kPa (gauge)"),
        ("supply", "230 V AC 50 Hz", "230 V a.c."),
        ("supply", "24 Vdc", "24 V d.c."),
        ("fail", "FC", "closed"),
        ("criticality", "Y", "safety"),
        ("criticality", "no", "—"),
        ("location", "Local", "field"),
        ("tag.calibration_interval_months", "12", "12"),
        ("loop.last_proof_test", "31.03.2026", "2026-03-31"),
        ("loop.kind", "Control", "control"),
    ],
)
def test_cells_as_people_fill_them(key, text, reads):
    """Cut-outs: IEC 61554:1999; the rest is common practice, no source."""
    assert shown(targets()[key].read(text, Hand())) == reads


@pytest.mark.parametrize(
    ("key", "text", "says"),
    [
        ("cutout", "1/8 DIN", "upright or lies flat"),
        ("signal", "four to twenty", "not a signal"),
        ("unit", "Boolean", "not a unit"),
        ("range", "250 degC", "not a range"),
        ("range", "0-100", "not a range"),
        ("low", "1,250", "thousands or decimals"),
        ("loop.last_proof_test", "03/04/2026", "one way"),
        ("loop.last_proof_test", "31.02.2026", "one way"),
        ("role", "Widget", "does not say"),
        ("supply", "three-phase", "not a supply"),
        ("description", "a\x07b", "control character"),
        ("tag.fuse", "x" * 21, "at most 20"),
        ("tag.calibration_interval_months", "0.5", "whole number"),
    ],
)
def test_what_could_mean_two_things_or_none_is_not_read(key, text, says):
    with pytest.raises(CellProblem, match=says):
        targets()[key].read(text, Hand())


def test_one_number_shows_how_the_others_of_its_hand_are_meant():
    assert spelling.number("1,250", spelling.decimal_sign(["0,5", "1,250"])) == Decimal("1.250")
    assert spelling.number("1,250", spelling.decimal_sign(["-0.02", "1,250"])) == 1250
    assert spelling.number("1.095,5", spelling.decimal_sign(["1.095,5"])) == Decimal("1095.5")


def test_one_date_shows_how_the_others_of_its_hand_are_meant():
    assert spelling.day("03/04/2026", spelling.day_first(["31/03/2026"])) == date(2026, 4, 3)
    assert spelling.day("03/04/2026", spelling.day_first(["3/31/2026"])) == date(2026, 3, 4)


@given(st.decimals(-1000, 1000, places=2), st.decimals(1, 1000, places=1), st.sampled_from(["-", " to ", "…", " – "]))
def test_a_range_is_read_whatever_parts_its_ends_and_decimals(low, span, dash):
    high = low + span
    for decimal in ",.":
        text = f"{low}{dash}{high} °C".replace(".", decimal)
        assert spelling.range_(text, decimal) == Range(low, high, "CEL")


@given(st.decimals(-(10**6), 10**6, places=3), st.sampled_from([(",", "."), (".", ",")]))
def test_numbers_with_their_thousands_parted_are_read(number, marks):
    thousands, decimal = marks
    text = f"{number:,}".replace(",", " ").replace(".", decimal).replace(" ", thousands)
    assert spelling.number(text, decimal) == number


@given(st.sampled_from(sorted(targets())), st.text(max_size=30), st.sampled_from(["", ",", "."]))
def test_any_text_is_read_or_refused(key, text, decimal):
    with suppress(CellProblem):
        targets()[key].read(text, Hand(decimal, None, CELSIUS))
