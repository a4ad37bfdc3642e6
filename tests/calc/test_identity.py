"""Tag names read by the letters of ANSI/ISA-5.1-2009, table 4.1."""

from __future__ import annotations

import pytest

from register.calc import identity
from register.calc.errors import CalculationError


@pytest.mark.parametrize(
    ("letters", "meanings"),
    [
        ("TIC", ["temperature", "indicate", "control"]),
        ("PDT", ["pressure", "difference, differential", "transmit"]),
        ("LSHH", ["level", "switch", "high", "high"]),
        ("PSV", ["pressure", "safety", "valve, damper, louver"]),
        ("SSH", ["speed, frequency", "switch", "high"]),
        ("ZSO", ["position, dimension", "switch", "open"]),
        ("ZSC", ["position, dimension", "switch", "close"]),
        ("ZLC", ["position, dimension", "light", "close"]),
        ("PCV", ["pressure", "control", "valve, damper, louver"]),
        ("FO", ["flow, flow rate", "orifice, restriction"]),
    ],
)
def test_letters_are_read_by_where_they_stand(letters, meanings):
    assert [meaning for _, _, meaning in identity.read_letters(letters).meanings] == meanings


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("TIC-101A", ("", "TIC", "101", "A")),
        ("10-PDT-0203", ("10", "PDT", "0203", "")),
        ("fic 204", ("", "FIC", "204", "")),
    ],
)
def test_a_name_comes_apart_into_prefix_letters_number_and_suffix(name, parts):
    """Common practice, no source."""
    parsed = identity.parse_tag(name)

    assert (parsed.prefix, parsed.letters, parsed.number, parsed.suffix) == parts


@pytest.mark.parametrize("letters", ["LHAH", "THT", ""])
def test_letters_out_of_order_are_refused(letters):
    with pytest.raises(CalculationError):
        identity.read_letters(letters)
