"""Units that instruments use, by UN/ECE Recommendation 20 code, and the ways in which plants write them.

A unit is a code, never a symbol: one symbol can belong to several codes. What a unit does not say stands beside it as a
*reference*: whether a pressure is gauge, absolute or differential, whether a gas volume is at normal or standard
conditions, whether a temperature is a difference.
"""

from __future__ import annotations

import csv
import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal, localcontext
from fractions import Fraction
from functools import cache
from importlib import resources

from register.calc.errors import NotANumber, OutOfRange, UnknownSpelling, UnknownUnit, WrongDimension

REFERENCES = {
    "gauge": "pressure",
    "absolute": "pressure",
    "differential": "pressure",
    "normal": "volume flow",
    "standard": "volume flow",
    "difference": "temperature",
}
"""What can stand beside a unit, and the dimension that it belongs to (normal and standard: volume as well)."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: its value in the coherent SI unit of its dimension is ``value * factor + offset``, exactly."""

    code: str
    symbol: str
    name: str
    dimension: str
    factor: Fraction
    offset: Fraction

    def __str__(self) -> str:
        return self.symbol


def read_table(name: str) -> list[dict[str, str]]:
    """The rows of a table of this package; lines that begin with # are its comments."""
    text = resources.files("register.calc").joinpath("tables", name).read_text(encoding="utf-8")
    return list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))


def _fraction(text: str) -> Fraction:
    """``"0.001/3600"`` as a Fraction."""
    numerator, _, denominator = text.partition("/")
    return Fraction(numerator) / Fraction(denominator or 1)


@cache
def all_units() -> dict[str, Unit]:
    """Every unit of the table, by code."""
    return {
        row["code"]: Unit(
            row["code"],
            row["symbol"],
            row["name"],
            row["dimension"],
            _fraction(row["factor"]),
            _fraction(row["offset"]),
        )
        for row in read_table("units.csv")
    }


def unit(code: str) -> Unit:
    """The unit of a code. Raises UnknownUnit.

    Source: UN/ECE Recommendation 20, revision 17.

    >>> unit("BAR").name
    'bar'
    """
    try:
        return all_units()[code]
    except KeyError:
        raise UnknownUnit(f"“{code}” is not the code of a unit in the register's table.") from None


def _two(from_code: str, to_code: str) -> tuple[Unit, Unit]:
    source, target = unit(from_code), unit(to_code)
    if source.dimension != target.dimension:
        raise WrongDimension(
            f"{source.symbol} is a unit of {source.dimension}, {target.symbol} one of {target.dimension}: "
            "one cannot be converted into the other."
        )
    return source, target


def _decimal(fraction: Fraction) -> Decimal:
    """Exact where the decimal ends within 28 digits, else rounded there; 100 and not 1E+2."""
    with localcontext(prec=28):
        quotient = (Decimal(fraction.numerator) / Decimal(fraction.denominator)).normalize()
    return Decimal(f"{quotient:f}")


_GREATEST_EXPONENT = 50  # beyond anything that is measured, short enough to write out


def measurable(value: Decimal) -> Decimal:
    """The value itself. Raises NotANumber, and OutOfRange for what would take a megabyte to write out (1e999999)."""
    value = Decimal(value)
    if not value.is_finite():
        raise NotANumber(f"“{value}” is not a finite number.")
    if value and abs(value.adjusted()) > _GREATEST_EXPONENT:
        raise OutOfRange(
            f"A value must lie between 1e-{_GREATEST_EXPONENT} and 1e{_GREATEST_EXPONENT}, not {value:.3E}."
        )
    return value


def convert(value: Decimal, from_code: str, to_code: str) -> Decimal:
    """A reading in another unit, offsets included. Raises WrongDimension, UnknownUnit, NotANumber, OutOfRange.

    Source: UN/ECE Recommendation 20, revision 17; SI brochure, 9th edition.

    >>> convert(Decimal("100"), "CEL", "FAH")
    Decimal('212')
    """
    value = measurable(value)
    source, target = _two(from_code, to_code)
    if source == target:
        return value
    return _decimal((Fraction(value) * source.factor + source.offset - target.offset) / target.factor)


def convert_difference(value: Decimal, from_code: str, to_code: str) -> Decimal:
    """A span or an error in another unit, without offsets. Raises as :func:`convert`.

    Source: UN/ECE Recommendation 20, revision 17; SI brochure, 9th edition.

    >>> convert_difference(Decimal("10"), "CEL", "FAH")
    Decimal('18')
    """
    value = measurable(value)
    source, target = _two(from_code, to_code)
    return value if source == target else _decimal(Fraction(value) * source.factor / target.factor)


STANDARD_ATMOSPHERE_PA = Decimal(101325)


def absolute_of_gauge(value: Decimal, code: str, atmosphere_pa: Decimal = STANDARD_ATMOSPHERE_PA) -> Decimal:
    """Absolute pressure of a gauge pressure, both in one unit, under an atmosphere in Pa.

    Raises WrongDimension where the unit is none of pressure. Source: definition; standard atmosphere of ISO 2533:1975.

    >>> absolute_of_gauge(Decimal("1.5"), "BAR")
    Decimal('2.51325')
    """
    return measurable(value) + convert(atmosphere_pa, "PAL", code)


def gauge_of_absolute(value: Decimal, code: str, atmosphere_pa: Decimal = STANDARD_ATMOSPHERE_PA) -> Decimal:
    """Gauge pressure of an absolute pressure; otherwise as :func:`absolute_of_gauge`.

    Source: definition; standard atmosphere of ISO 2533:1975.

    >>> gauge_of_absolute(Decimal("2.51325"), "BAR")
    Decimal('1.50000')
    """
    return measurable(value) - convert(atmosphere_pa, "PAL", code)


@dataclass(frozen=True, slots=True)
class ParsedUnit:
    """What somebody wrote: a unit's code and the reference that it was written with ("" if none)."""

    code: str
    reference: str = ""


_PRESSURE_SUFFIXES = (
    ("gauge", "gauge"), ("ga", "gauge"), ("g", "gauge"),
    ("absolute", "absolute"), ("abs", "absolute"), ("a", "absolute"),
    ("differential", "differential"), ("diff", "differential"), ("dp", "differential"), ("d", "differential"),
)  # fmt: skip
_GAS_PREFIXES = (("N", "normal"), ("S", "standard"))


def _squeezed(text: str) -> str:
    """Compatibility forms folded (℃, ㎛, ³); blanks, underscores, dots and signs of multiplication gone."""
    folded = unicodedata.normalize("NFKC", text).replace("\N{GREEK SMALL LETTER MU}", "µ").replace("º", "°")
    bare = re.sub(r"[\s_.·⋅*^]+", "", folded)
    return bare[1:-1] if bare[:1] + bare[-1:] in ("()", "[]") else bare


@cache
def _spellings() -> tuple[dict[str, ParsedUnit], dict[str, ParsedUnit | None]]:
    """Spellings as they stand, and with case folded where that is not ambiguous (mPa and MPa are)."""
    exact: dict[str, ParsedUnit] = {}
    for one in all_units().values():
        exact.setdefault(_squeezed(one.symbol), ParsedUnit(one.code))
    for row in read_table("unit_spellings.csv"):
        for spelling_ in row["spellings"].split("|"):
            exact[_squeezed(spelling_)] = ParsedUnit(row["code"], row["reference"])
    folded: dict[str, ParsedUnit | None] = {}
    for key, parsed in exact.items():
        known = folded.setdefault(key.casefold(), parsed)
        if known != parsed:
            folded[key.casefold()] = None
    return exact, folded


def spelling(text: str) -> ParsedUnit:
    """What a plant means by a unit as it writes it. Raises UnknownSpelling, which shows it; never guesses.

    Source: UN/ECE Recommendation 20 for symbols; common practice for the rest.

    >>> spelling("deg C")
    ParsedUnit(code='CEL', reference='')
    >>> spelling("bar(g)")
    ParsedUnit(code='BAR', reference='gauge')
    >>> spelling("m³/h (normal)")
    ParsedUnit(code='MQH', reference='normal')
    >>> spelling("Nl/h")
    ParsedUnit(code='E32', reference='normal')
    """
    squeezed = _squeezed(text)
    found = _known(squeezed) or _labelled(squeezed) or _pressure(squeezed) or _gas(squeezed)
    if found is None:
        raise UnknownSpelling(
            f"“{text.strip()}” is not a unit that the register knows. Write it in full or choose one."
        )
    return found


def _known(squeezed: str) -> ParsedUnit | None:
    exact, folded = _spellings()
    return exact.get(squeezed) or folded.get(squeezed.casefold())


def _labelled(squeezed: str) -> ParsedUnit | None:
    """A unit as :func:`label` writes it, with a reference that its dimension can have: m³/h (normal)."""
    text, _, reference = squeezed.removesuffix(")").rpartition("(")
    stem = _known(text) if squeezed.endswith(")") else None
    if stem is None or stem.reference or not _can_refer(unit(stem.code).dimension, reference):
        return None
    return ParsedUnit(stem.code, reference)


def _can_refer(dimension: str, reference: str) -> bool:
    of = REFERENCES.get(reference)
    return of == dimension or (of == "volume flow" and dimension == "volume")


def _pressure(squeezed: str) -> ParsedUnit | None:
    """A unit of pressure with its reference behind it: barg, mmHg(abs), kPa-diff."""
    bare = squeezed.rstrip(")")
    for suffix, reference in _PRESSURE_SUFFIXES:
        if bare.casefold().endswith(suffix):
            stem = _known(bare[: -len(suffix)].rstrip("(,-"))
            if stem is not None and not stem.reference and unit(stem.code).dimension == "pressure":
                return ParsedUnit(stem.code, reference)
    return None


def _gas(squeezed: str) -> ParsedUnit | None:
    """A gas volume or its flow with its reference in front: Nm³/min, Sl/h."""
    for prefix, reference in _GAS_PREFIXES:
        if squeezed.startswith(prefix):
            stem = _known(squeezed[1:])
            if stem is not None and not stem.reference and unit(stem.code).dimension in ("volume", "volume flow"):
                return ParsedUnit(stem.code, reference)
    return None


def label(code: str, reference: str = "") -> str:
    """How the register writes a unit: "bar (gauge)"."""
    symbol = all_units()[code].symbol if code in all_units() else code
    return f"{symbol} ({reference})" if reference else symbol
