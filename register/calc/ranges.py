"""Ranges: two ends in a unit, compared after conversion and never by how they are written."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from register.calc.errors import EmptySpan, NotANumber, UnknownSpelling, WrongDimension
from register.calc.units import convert, convert_difference, label, measurable, spelling, unit

EQUAL_WITHIN_PERCENT_OF_SPAN = Decimal("0.1")
"""How far the ends of two equal ranges may lie apart (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Range:
    """From low to high, in a unit (UN/ECE code), with what stands beside the unit: "gauge", "normal", "difference" ….

    The numbers are kept as typed. Raises EmptySpan, NotANumber, OutOfRange or UnknownUnit.
    """

    low: Decimal
    high: Decimal
    unit: str
    reference: str = ""

    def __post_init__(self) -> None:
        measurable(self.low)
        measurable(self.high)
        if self.low >= self.high:
            raise EmptySpan(f"The low end of a range must be below its high end; {self.low} to {self.high} is not.")
        unit(self.unit)

    def __str__(self) -> str:
        return f"{self.low:f}–{self.high:f} {label(self.unit, self.reference)}" if self.low >= 0 else self._with_to()

    def _with_to(self) -> str:
        """A dash before or after a minus sign cannot be read."""
        return f"{self.low:f} to {self.high:f} {label(self.unit, self.reference)}".replace("-", "−")

    @property
    def span(self) -> Decimal:
        return self.high - self.low

    @property
    def dimension(self) -> str:
        return unit(self.unit).dimension

    def value_at(self, percent: Decimal) -> Decimal:
        """The value at a per cent of span.

        >>> Range(Decimal("-50"), Decimal("150"), "CEL").value_at(Decimal(25))
        Decimal('0')
        """
        value = self.low + self.span * percent / 100
        return value.quantize(Decimal(1)) if value == value.to_integral_value() else value.normalize()

    def percent(self, value: Decimal) -> Decimal:
        """Where a value lies, in per cent of span."""
        return (value - self.low) * 100 / self.span

    def contains(self, value: Decimal) -> bool:
        """Whether a value lies within, the ends included."""
        return self.low <= value <= self.high

    def comparable(self, other: Range) -> bool:
        """Whether the two speak of the same thing. A reference that one does not state is taken for the other's."""
        same_reference = not self.reference or not other.reference or self.reference == other.reference
        return self.dimension == other.dimension and same_reference

    def to(self, code: str) -> Range:
        """The same range in another unit. Raises WrongDimension."""
        change = convert_difference if self.reference == "difference" else convert
        return Range(change(self.low, self.unit, code), change(self.high, self.unit, code), code, self.reference)

    def in_unit_of(self, other: Range) -> Range:
        """The same range in the unit of another. Raises WrongDimension where the two cannot be compared."""
        if not self.comparable(other):
            raise WrongDimension(f"{self} and {other} cannot be compared.")
        return self.to(other.unit)

    def matches(self, other: Range, tolerance_percent_of_span: Decimal = EQUAL_WITHIN_PERCENT_OF_SPAN) -> bool:
        """Whether both ends agree after conversion, within a per cent of this range's span.

        >>> Range(Decimal(0), Decimal(10), "BAR").matches(Range(Decimal(0), Decimal(1000), "KPA"))
        True
        """
        if not self.comparable(other):
            return False
        there = other.in_unit_of(self)
        allowed = self.span * tolerance_percent_of_span / 100
        return abs(there.low - self.low) <= allowed and abs(there.high - self.high) <= allowed

    def contains_range(self, other: Range) -> bool:
        """Whether another range lies within this one after conversion. Raises WrongDimension."""
        there = other.in_unit_of(self)
        return self.contains(there.low) and self.contains(there.high)

    def value_in(self, value: Decimal, other: Range) -> Decimal:
        """A value of this range in the unit of another. Raises WrongDimension."""
        if not self.comparable(other):
            raise WrongDimension(f"{self} and {other} cannot be compared.")
        change = convert_difference if self.reference == "difference" else convert
        return change(value, self.unit, other.unit)


def display_resolution(decimals: int) -> Decimal:
    """The smallest step that a display with so many decimals shows, in the displayed unit."""
    return Decimal(1).scaleb(-decimals)


def fits_display(shown: Range, digits: int, decimals: int) -> bool:
    """Whether both ends can be shown with so many digits, of which so many after the point; a minus sign is no digit.

    Source: common practice.

    >>> fits_display(Range(Decimal(0), Decimal(1000), "CEL"), 4, 1)
    False
    """
    greatest = Decimal(10**digits - 1).scaleb(-decimals)
    return max(abs(shown.low), abs(shown.high)) <= greatest


_COMMAS_PART_THOUSANDS = re.compile(r"(?!0)\d{1,3}(?:,\d{2,3})*,\d{3}(?:\.\d*)?")  # in India lakhs as well
_POINTS_PART_THOUSANDS = re.compile(r"\d{1,3}(?:\.\d{3})+,\d*|\d{1,3}(?:\.\d{3}){2,}")
_BLANKS_PART_THOUSANDS = re.compile(r"\d{1,3}(?:[ ’']\d{3})+(?:[.,]\d*)?")
_PLAIN_NUMBER = re.compile(r"(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,2})?")


def parse_number(text: str) -> Decimal:
    """A number as people write it: decimal comma or point, thousands parted by comma, point, blank or apostrophe.

    A single comma with three digits after it parts thousands in some plants and decimals in others: it is read as
    thousands only where the digits before it are no leading zero. Raises NotANumber.
    Source: ISO 80000-1 for the decimal sign; common practice for the rest.

    >>> parse_number("3,200")
    Decimal('3200')
    >>> parse_number("0,35")
    Decimal('0.35')
    """
    plain = re.sub("[\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}\N{THIN SPACE}]", " ", text).strip().replace("−", "-")
    sign, digits = re.fullmatch(r"([-+]?)\s*(.*)", plain, re.DOTALL).groups()
    if _COMMAS_PART_THOUSANDS.fullmatch(digits):
        digits = digits.replace(",", "")
    elif _POINTS_PART_THOUSANDS.fullmatch(digits):
        digits = digits.replace(".", "").replace(",", ".")
    elif _BLANKS_PART_THOUSANDS.fullmatch(digits):
        digits = re.sub("[ ’']", "", digits).replace(",", ".")
    else:
        digits = digits.replace(",", ".")
    if not _PLAIN_NUMBER.fullmatch(digits):
        raise NotANumber(f"“{text.strip()}” is not a number.")
    return Decimal(sign + digits)


_NUMBER = r"[-+−]?\d[\d ]*(?:[.,]\d+)*"
_RANGE = re.compile(
    rf"^\s*(?P<low>{_NUMBER})\s*(?P<first_unit>(?!(?:to|bis|à)\b)[^\d\s.…–+−~÷-][^\d…–−~÷-]*?)?"
    rf"\s*(?:\.{{2,3}}|…|–|—|-|−|~|÷|\bto\b|\bbis\b|\bà\b|/)\s*(?P<high>{_NUMBER})\s*(?P<unit>.*?)\s*$"
)


def parse_range(text: str) -> Range:
    """A range as plants write it: "0-250 degC", "0…250 °C", "-50 to -10 C", "0,0 - 2,5 bar(g)".

    Raises UnknownSpelling, also where the two ends name different units, NotANumber or EmptySpan.
    Source: common practice.

    >>> str(parse_range("0…250 °C"))
    '0–250 °C'
    """
    match = _RANGE.match(text)
    named = {spelling(one) for one in (match["first_unit"], match["unit"]) if one} if match else set()
    if len(named) != 1:
        raise UnknownSpelling(f"“{text.strip()}” is not a range in one unit. Write it as “0-250 degC”.")
    (parsed,) = named
    return Range(parse_number(match["low"]), parse_number(match["high"]), parsed.code, parsed.reference)
