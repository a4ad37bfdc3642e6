"""Reading a Digital Calibration Certificate, the open XML schema of PTB (https://ptb.de/dcc), version 3.

The file comes from a laboratory, so from a stranger: no document type, entity or outside reference is read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from xml.etree.ElementTree import Element, ParseError

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import fromstring

from register.calc.errors import CalculationError
from register.calc.units import spelling

DCC, SI = "{https://ptb.de/dcc}", "{https://ptb.de/si}"
GREATEST_FILE = 8 * 1024 * 1024
MOST_POINTS = 1000


class NotACertificate(ValueError):
    """The file cannot be taken as a certificate; the message says why and what to do."""


@dataclass(frozen=True)
class Identification:
    """A number that somebody gave the item; ``issuer`` says who: manufacturer, customer, calibrationLaboratory."""

    issuer: str
    name: str
    value: str


@dataclass(frozen=True)
class Quantity:
    """Values in one unit: its code, "" for one that the register does not know, and how the file writes it."""

    values: tuple[Decimal, ...]
    unit: str
    written: str


@dataclass(frozen=True)
class Result:
    """One table of a certificate. Limits and uncertainty may hold one value for all points."""

    name: str
    reference: Quantity
    measured: Quantity | None
    error: Quantity | None
    uncertainty: Quantity | None
    coverage_factor: Decimal | None
    lower_limit: Quantity | None
    upper_limit: Quantity | None
    conformity: tuple[str, ...]


@dataclass(frozen=True)
class Certificate:
    identifier: str
    version: str
    performed_on: date | None
    laboratory: str
    signed_by: str
    item: str
    manufacturer: str
    model: str
    identifications: tuple[Identification, ...]
    equipment: tuple[str, ...]
    conformity: str  # of the certificate as a whole: pass, fail, conditionalPass, …; "" where it states none
    results: tuple[Result, ...]


def read_certificate(data: bytes) -> Certificate:
    """What a certificate says of its item. Raises NotACertificate."""
    root = _parsed(data)
    version = root.get("schemaVersion", "")
    if root.tag != f"{DCC}digitalCalibrationCertificate":
        raise NotACertificate(
            "The file is XML, but no digital calibration certificate of the schema https://ptb.de/dcc. "
            "Ask the laboratory for that form, or type the readings in."
        )
    if not version.startswith("3."):
        raise NotACertificate(
            f"The certificate is of version {version or 'unknown'} of the schema; versions 3 are read. Type it in."
        )
    admin = root.find(f"{DCC}administrativeData")
    core = _at(admin, "coreData")
    item = _at(admin, "items", "item")
    tables = [
        (_words(_at(result, "name")), table)
        for result in root.iterfind(f"{DCC}measurementResults//{DCC}results/{DCC}result")
        for table in result.iterfind(f"{DCC}data/{DCC}list")
    ]
    results = tuple(read for name, table in tables if (read := _result(name, table)) is not None)
    if not results:
        raise NotACertificate(
            "The certificate holds no table with reference values (refType basic_referenceValue) that can be read. "
            "Type the readings in."
        )
    signers = [one for one in _all(admin, "respPersons", "respPerson") if _text(_at(one, "mainSigner")) == "true"]
    return Certificate(
        identifier=_text(_at(core, "uniqueIdentifier")),
        version=version,
        performed_on=_date(_text(_at(core, "endPerformanceDate"))),
        laboratory=_words(_at(admin, "calibrationLaboratory", "contact", "name")),
        signed_by=_words(_at(signers[0], "person", "name")) if signers else "",
        item=_words(_at(item, "name")),
        manufacturer=_words(_at(item, "manufacturer", "name")),
        model=_text(_at(item, "model")),
        identifications=tuple(
            Identification(_text(_at(one, "issuer")), _words(_at(one, "name")), _text(_at(one, "value")))
            for one in _all(item, "identifications", "identification")
        ),
        equipment=tuple(_equipment(root)),
        conformity=next((_text(one) for one in root.iterfind(f".//{DCC}statement/{DCC}conformity")), ""),
        results=results,
    )


def _parsed(data: bytes) -> Element:
    if not data:
        raise NotACertificate("The file is empty. Choose the certificate again.")
    if len(data) > GREATEST_FILE:
        raise NotACertificate(f"The file is larger than {GREATEST_FILE // 1024**2} MB, more than a certificate takes.")
    try:
        return fromstring(data, forbid_dtd=True, forbid_entities=True, forbid_external=True)
    except DefusedXmlException:
        raise NotACertificate(
            "The file declares a document type or entities, which no certificate needs and which can do harm. "
            "Ask the laboratory for a plain file."
        ) from None
    except (ParseError, ValueError, LookupError) as fault:
        raise NotACertificate(f"The file is not XML, or it is damaged ({fault}). Ask for it again.") from None


def _result(name: str, table: Element) -> Result | None:
    """None for a list without reference values of its own."""
    by_type = {
        word: quantity for quantity in table.iterfind(f"{DCC}quantity") for word in quantity.get("refType", "").split()
    }
    reference = _quantity(by_type.get("basic_referenceValue"))
    if reference is None:
        return None
    error = by_type.get("basic_measurementError")
    conformity = _first(table, f".//{DCC}metaData/{DCC}conformityXMLList", f".//{DCC}metaData/{DCC}conformity")
    return Result(
        name=name,
        reference=reference,
        measured=_quantity(by_type.get("basic_measuredValue")),
        error=_quantity(error),
        uncertainty=_uncertainty(error),
        coverage_factor=_number(_first(error, f".//{SI}coverageFactorXMLList", f".//{SI}coverageFactor")),
        lower_limit=_quantity(_first(table, f".//{DCC}quantity[@refType='basic_acceptanceLimitLower']")),
        upper_limit=_quantity(_first(table, f".//{DCC}quantity[@refType='basic_acceptanceLimitUpper']")),
        conformity=tuple(_text(conformity).split()),
    )


def _quantity(holder: Element | None) -> Quantity | None:
    """The values of a quantity: the first of its forms (si:hybrid holds several) in a unit that the register knows."""
    forms = list(_forms(holder))
    return next((one for one in forms if one.unit), forms[0] if forms else None)


def _forms(holder: Element | None) -> Iterator[Quantity]:
    if holder is None:
        return
    for parent in (holder, *holder.iterfind(f"{SI}hybrid")):
        for kind, values, unit in (("realListXMLList", "valueXMLList", "unitXMLList"), ("real", "value", "unit")):
            for one in parent.iterfind(f"{SI}{kind}"):
                written = _text(one.find(f"{SI}{unit}")).split()
                if len(written) == 1 and (numbers := _numbers(_text(one.find(f"{SI}{values}")))):
                    yield Quantity(numbers, unit_of(written[0]), written[0])


def _uncertainty(error: Element | None) -> Quantity | None:
    """The expanded uncertainty of the errors, in their unit."""
    stated = _quantity(error)
    found = _first(error, f".//{SI}expandedUncXMLList/{SI}uncertaintyXMLList", f".//{SI}expandedUnc/{SI}uncertainty")
    numbers = _numbers(_text(found))
    return Quantity(numbers, stated.unit, stated.written) if stated and numbers else None


_SYMBOLS = {
    "kelvin": "K",
    "degreecelsius": "°C",
    "pascal": "Pa",
    "bar": "bar",
    "ampere": "A",
    "volt": "V",
    "ohm": "Ω",
    "metre": "m",
    "hertz": "Hz",
    "percent": "%",
}
_PREFIXES = {"micro": "µ", "milli": "m", "centi": "c", "hecto": "h", "kilo": "k", "mega": "M"}


def unit_of(written: str) -> str:
    """The register's code of a unit as D-SI writes it; "" for one that it does not know.

    Source: D-SI, the digital system of units of SmartCom, with the macros of siunitx: prefix, then unit.

    >>> unit_of(r"\\degreecelsius"), unit_of(r"\\milli\\ampere"), unit_of(r"\\candela")
    ('CEL', '4K', '')
    """
    words = re.findall(r"\\([a-zA-Z]+)", written)
    prefix = _PREFIXES.get(words[0], "") if len(words) == 2 else ""
    if len(words) != (2 if prefix else 1) or words[-1] not in _SYMBOLS:
        return ""
    try:
        return spelling(prefix + _SYMBOLS[words[-1]]).code
    except CalculationError:
        return ""


def _numbers(text: str) -> tuple[Decimal, ...]:
    """Raises NotACertificate for a list that is too long or holds what is no number."""
    words = text.split()
    if len(words) > MOST_POINTS:
        raise NotACertificate(f"A table of the certificate has more than {MOST_POINTS} points. Type in those you need.")
    try:
        numbers = tuple(Decimal(word) for word in words)
    except InvalidOperation:
        raise NotACertificate(
            f"“{text[:40]}” stands where numbers belong. Ask the laboratory for a sound file."
        ) from None
    if not all(one.is_finite() and abs(one.adjusted()) < 30 for one in numbers):
        raise NotACertificate(f"“{text[:40]}” holds what no instrument can say. Ask the laboratory for a sound file.")
    return numbers


def _number(one: Element | None) -> Decimal | None:
    numbers = _numbers(_text(one))
    return numbers[0] if numbers else None


def _equipment(root: Element) -> Iterator[str]:
    for one in root.iterfind(f".//{DCC}measuringEquipment"):
        numbers = [_text(value) for value in one.iterfind(f"{DCC}identifications/{DCC}identification/{DCC}value")]
        yield ", ".join(filter(None, (_words(_at(one, "name")), *numbers)))


def _at(start: Element | None, *names: str) -> Element | None:
    return None if start is None else start.find("/".join(f"{DCC}{name}" for name in names))


def _all(start: Element | None, *names: str) -> list[Element]:
    return [] if start is None else start.findall("/".join(f"{DCC}{name}" for name in names))


def _first(start: Element | None, *paths: str) -> Element | None:
    """What is found under the first of the paths that leads to anything."""
    found = [] if start is None else [one for path in paths if (one := start.find(path)) is not None]
    return found[0] if found else None


def _text(one: Element | None) -> str:
    return " ".join((one.text or "").split()) if one is not None else ""


def _words(name: Element | None) -> str:
    """A text that may stand in several languages: in English where it does, else in the first."""
    said = {one.get("lang", ""): _text(one) for one in reversed(_all(name, "content"))}
    return said.get("en") or next(reversed(said.values()), "")


def _date(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
