"""Scaling by the worked examples of the trade; spans of IEC 60381-1, IEC 60381-2, IEC 60382 and ANSI/ISA-S7.4."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.calc.errors import EmptySpan, NotANumber, OutOfRange, UnknownSpelling, WrongDimension
from register.calc.signals import (
    SIGNALS,
    End,
    electrical_at,
    flow_percent,
    fraction_of,
    ne43_state,
    parse_signal,
    scale,
    shown_by,
    signal,
)
from register.calc.units import read_table, unit

SPANS = [signal for signal in SIGNALS.values() if signal.is_span]
MILLIAMPS = SIGNALS["4-20mA"]


@pytest.mark.parametrize("of", SPANS, ids=lambda of: of.key)
@given(fraction=st.floats(0, 1), backwards=st.booleans())
def test_a_span_carries_a_fraction_there_and_back(of, fraction, backwards):
    on_the_wire = electrical_at(fraction, of, reversed_=backwards)

    assert fraction_of(on_the_wire, of, reversed_=backwards) == pytest.approx(fraction, abs=1e-9)


@given(st.floats(0, 1), st.booleans())
def test_a_root_in_the_sender_is_undone_by_the_square_that_it_is(fraction, backwards):
    flow = fraction_of(
        electrical_at(fraction, MILLIAMPS, reversed_=backwards, square_root=True), MILLIAMPS, reversed_=backwards
    )

    assert flow == pytest.approx(math.sqrt(fraction), abs=1e-9)


@given(st.floats(0, 1), st.booleans())
def test_a_root_in_the_receiver_gives_the_same_flow_as_one_in_the_sender(fraction, backwards):
    current = electrical_at(fraction, MILLIAMPS, reversed_=backwards)

    assert fraction_of(current, MILLIAMPS, reversed_=backwards, square_root=True) == pytest.approx(
        math.sqrt(fraction), abs=1e-6
    )


@given(st.floats(-50, 150))
def test_ends_that_agree_show_what_is_true(true):
    end = End(MILLIAMPS, -50, 150)

    assert shown_by(end, true, end) == pytest.approx(true, abs=1e-9)


@pytest.mark.parametrize(
    ("reader", "sender", "true", "shown"),
    [
        (End(MILLIAMPS, 0, 500), End(MILLIAMPS, 0, 400), 200, 250),
        (End(SIGNALS["0-20mA"], 0, 100), End(MILLIAMPS, 0, 100), 0, 20),
        (End(MILLIAMPS, 0, 100), End(SIGNALS["0-20mA"], 0, 100), 20, 0),
        (End(MILLIAMPS, 0, 100), End(MILLIAMPS, 0, 100, reversed=True), 20, 80),
        (End(SIGNALS["0-5V"], 0, 100), End(SIGNALS["1-5V"], 0, 100), 50, 60),
        (End(MILLIAMPS, 0, 100, square_root=True), End(MILLIAMPS, 0, 100, square_root=True), 25, 70.7107),
        (End(SIGNALS["0.2-1bar"], 0, 100), End(SIGNALS["3-15psi"], 0, 100), 100, 104.2767),
        (End(SIGNALS["0-1V"], 0, 100), End(SIGNALS["0-100mV"], 0, 100), 100, 10),
    ],
)  # fmt: skip
def test_what_a_reader_shows_that_is_set_otherwise_than_its_sender(reader, sender, true, shown):
    """Proportion on the wire (IEC 60381-1); 15 psi is 1.034214 bar (NIST SP 811), hence 104.28 % of 0.2 to 1.0 bar."""
    assert shown_by(reader, true, sender) == pytest.approx(shown, abs=1e-3)


def test_a_current_means_nothing_to_a_voltage_input():
    with pytest.raises(WrongDimension, match=r"mA.*current.*V.*voltage"):
        shown_by(End(SIGNALS["1-5V"], 0, 100), 50, End(MILLIAMPS, 0, 100))


@pytest.mark.parametrize(
    ("value", "from_span", "to_span", "square_root", "scaled"),
    [
        (9.32, (3, 11), (4, 20), False, 16.64),
        (14.4, (4, 20), (0, 100), False, 65),
        (12, (-5, 25), (10, 50), False, 32.6667),
        (8, (4, 20), (100, 0), False, 75),
        (3.8, (4, 20), (-1, 3), False, -1.05),
        (7, (4, 20), (4, 20), True, 10.9282),
        (12, (4, 20), (4, 20), True, 15.3137),
    ],
)
def test_scaling_by_the_exercises_of_tutorials(value, from_span, to_span, square_root, scaled):
    """Public exercises on current loops; one of them prints 15.32 for the last because it rounds on the way."""
    assert scale(value, from_span, to_span, square_root=square_root) == pytest.approx(scaled, abs=5e-4)


@pytest.mark.parametrize(
    ("milliamps", "state"),
    [
        (0, "failure low"), (3.6, "failure low"), (3.61, "between bands low"), (3.79, "between bands low"),
        (3.8, "under-range"), (3.99, "under-range"), (4, "normal"), (20, "normal"), (20.01, "over-range"),
        (20.5, "over-range"), (20.51, "between bands high"), (20.99, "between bands high"), (21, "failure high"),
        (25, "failure high"),
    ],
)  # fmt: skip
def test_every_current_has_one_meaning(milliamps, state):
    """NAMUR NE 43: 3.8 to 20.5 mA measures, up to 3.6 and from 21 mA is a failure."""
    assert ne43_state(milliamps) == state


def test_the_pieces_of_a_split_range_meet_and_each_is_a_full_stroke():
    """Two valves on one output meet at 12 mA (common practice, no source)."""
    first, second = MILLIAMPS.part(Decimal(0), Decimal(50)), MILLIAMPS.part(Decimal(50), Decimal(100))

    assert (first.ends, second.ends) == ((4, 12), (12, 20))
    assert (str(first), str(SIGNALS["3-15psi"].part(Decimal(0), Decimal(50)))) == ("4–12 mA", "3–9 psi")
    assert fraction_of(8, first) == 0.5
    assert fraction_of(16, second, reversed_=True) == 0.5


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("4/20mA", "4-20mA"), ("4 - 20 mA", "4-20mA"), ("4…20 mA", "4-20mA"), ("4..20mA HART", "4-20mA"),
        ("4 to 20 mA DC", "4-20mA"), ("4-20 mA (2-wire)", "4-20mA"), ("4 20 mA", "4-20mA"), ("0-20", "0-20mA"),
        ("0-10 Vdc", "0-10V"), ("-10..+10V", "-10-10V"), ("±10 V", "-10-10V"), ("0,2 - 1,0 bar", "0.2-1bar"),
        ("20-100 kPa", "0.2-1bar"), ("3-15 psig", "3-15psi"), ("Pt 100 3w", "pt100"), ("PT-100", "pt100"),
        ("3-wire Pt100", "pt100"), ("JPt100", "pt100-3916"), ("Pt100 (3920)", "pt100-3920"), ("K t/c", "tc-K"),
        ("Type K", "tc-K"), ("K-type", "tc-K"), ("thermocouple, type K", "tc-K"), ("NiCr-NiAl", "tc-K"),
        ("dry contact", "relay-contact"), ("SSR", "ssr-drive"), ("24 VDC", "24V-supply"), ("RS-485", "rs485"),
    ],
)  # fmt: skip
def test_what_plants_write_is_understood(text, key):
    assert parse_signal(text) == key


def test_every_spelling_leads_to_the_signal_that_its_row_names():
    for row in read_table("signal_spellings.csv"):
        assert {parse_signal(spelling) for spelling in row["spellings"].split("|")} == {row["key"]}
    for one in SIGNALS.values():
        assert parse_signal(one.key) == parse_signal(one.label) == one.key


@pytest.mark.parametrize(
    "text", ["", "15 V", "10 V", "2-4 V", "420 mA", "210 V", "315 psi", "0.10 V", "50 mA", "Ni100", "warm"]
)
def test_what_is_not_known_is_shown_and_never_guessed(text):
    """15 V is no 1–5 V: a dash that is not there is not put there."""
    with pytest.raises(UnknownSpelling, match=f"“{text}”"):
        parse_signal(text)


def test_a_live_zero_is_told_from_a_dead_one():
    live = {one.key for one in SPANS if one.live_zero}

    assert live == {"4-20mA", "10-50mA", "1-5mA", "1-5V", "2-10V", "3-15psi", "6-30psi", "0.2-1bar"}
    assert all(unit(one.unit) for one in SPANS)


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: electrical_at(math.nan, MILLIAMPS), NotANumber, "finite"),
        (lambda: electrical_at(0.5, SIGNALS["tc-K"]), EmptySpan, "type K thermocouple has no span"),
        (lambda: fraction_of(1, SIGNALS["rs485"]), EmptySpan, "RS-485 has no span"),
        (lambda: scale(1, (5, 5), (0, 100)), EmptySpan, "no width"),
        (lambda: scale(3.9, (4, 20), (0, 100), square_root=True), OutOfRange, "at least 4"),
        (lambda: flow_percent(-1, 1), OutOfRange, "at least 0 %"),
        (lambda: ne43_state(math.nan), NotANumber, "finite"),
        (lambda: MILLIAMPS.part(Decimal(50), Decimal(120)), OutOfRange, "0 to 100 %"),
        (lambda: MILLIAMPS.part(Decimal(50), Decimal(50)), EmptySpan, "no span"),
        (lambda: signal("5-25mA"), UnknownSpelling, "“5-25mA”"),
    ],
)
def test_bad_input_says_what_is_valid(call, error, words):
    with pytest.raises(error, match=words):
        call()
