"""Certificates in the form of PTB's public schema, and files that only look like one."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from register.exchange.dcc import NotACertificate, read_certificate, unit_of
from tests.exchange.certificates import certificate


def test_a_certificate_is_read_whole():
    read = read_certificate(certificate())

    assert (read.identifier, read.performed_on, read.conformity) == ("HL-2024-0311", date(2024, 5, 16), "pass")
    assert (read.item, read.manufacturer, read.model) == ("Probe", "Quarrymoor", "Probe pt100")
    assert (read.laboratory, read.signed_by) == ("Harrow Lane Laboratory", "I. Marsh")
    assert [(one.issuer, one.name, one.value) for one in read.identifications] == [
        ("manufacturer", "Serial no.", "SA1011")
    ]
    assert read.equipment == ("Reference thermometer, RT-3",)
    (result,) = read.results
    assert (result.reference.unit, result.reference.values[1]) == ("KEL", Decimal("323.15"))
    assert result.measured.values[-1] == Decimal("473.25")
    assert result.uncertainty.values == (Decimal("0.06"),)
    assert (result.coverage_factor, result.conformity) == (2, ("pass",))
    assert (result.lower_limit.values, result.upper_limit.values) == ((Decimal("-0.5"),), (Decimal("0.5"),))


@pytest.mark.parametrize(
    ("written", "code"),
    [
        (r"\kelvin", "KEL"),
        (r"\degreecelsius", "CEL"),
        (r"\milli\ampere", "4K"),
        (r"\milli\volt", "2Z"),
        (r"\kilo\pascal", "KPA"),
        (r"\bar", "BAR"),
        (r"\ohm", "OHM"),
        (r"\percent", "P1"),
        (r"\metre\per\second", ""),
        (r"\candela", ""),
        ("kelvin", ""),
        ("", ""),
    ],
)
def test_units_are_read_as_the_digital_si_writes_them(written, code):
    """Codes of UN/ECE Recommendation 20; what is not known is never guessed."""
    assert unit_of(written) == code


BOMB = '<!DOCTYPE a [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
FILE = '<!DOCTYPE a [<!ENTITY a SYSTEM "file:///etc/hostname">]>'


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"%PDF-1.7", "not XML"),
        (certificate()[:900], "not XML, or it is damaged"),
        (b"<a/>", "no digital calibration certificate"),
        (certificate(version="2.4.0"), "version 2.4.0"),
        (certificate(version=""), "version unknown"),
        (certificate(doctype=BOMB), "document type or entities"),
        (certificate(doctype=FILE), "document type or entities"),
        (certificate(doctype="<!DOCTYPE a>"), "document type or entities"),
        (certificate(reference=(r"\kelvin", "")), "no table"),
        (certificate(reference=(r"\kelvin", "273.15 warm")), "stands where numbers belong"),
        (certificate(reference=(r"\kelvin", "1e999999 NaN")), "no instrument can say"),
        (certificate(reference=(r"\kelvin", "1 " * 1001)), "more than 1000 points"),
        (b" " * (8 * 1024 * 1024 + 1), "larger than 8 MB"),
        (certificate().replace(b"UTF-8", b"UTF-99"), "not XML"),
    ],
)
def test_what_is_no_sound_certificate_is_refused_in_words(data, said):
    with pytest.raises(NotACertificate, match=said):
        read_certificate(data)


@pytest.mark.parametrize(
    "element", ["coreData", "items", "calibrationLaboratory", "respPersons", "measuringEquipments"]
)
def test_a_certificate_that_leaves_something_out_is_read_without_it(element):
    data = certificate().decode()
    start, end = data.index(f"<dcc:{element}>"), data.index(f"</dcc:{element}>") + len(f"</dcc:{element}>")
    assert len(read_certificate((data[:start] + data[end:]).encode()).results) == 1
