"""Ranges: two ends in a unit, compared after conversion and never by how they are written."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from register.calc.errors import EmptySpan, NotANumber, UnknownSpelling, WrongDimension
from register.calc.units import convert, convert_difference, label, spelling, unit

EQUAL_WITHIN_PERCENT_OF_SPAN = Decimal("0.1")
"""How far the ends of two equal ranges may lie apart (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Range:
    """From low to high, in a unit (UN/ECE code), with what stands beside the unit: "gauge", "normal", "difference" ….

    The numbers are kept as typed. Raises EmptySpan, NotANumber or UnknownUnit.
    """

    low: Decimal
    high: Decimal
    unit: str
    reference: str = ""

    def __post_init__(self) -> None:
        if not (self.low.is_finite() and self.high.is_finite()):
            raise NotANumber(f"A range needs two finite numbers, not {self.low} and {self.high}.")
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

    >>> fits_display(Range(Decimal(0), Decimal(1000), "CEL"), 4, 1)
    False
    """
    greatest = Decimal(10**digits - 1).scaleb(-decimals)
    return max(abs(shown.low), abs(shown.high)) <= greatest


_NUMBER = r"[-+−]?\d[\d ]*(?:[.,]\d+)*"
_RANGE = re.compile(
    rf"^\s*(?P<low>{_NUMBER})\s*(?P<first_unit>[^\d\s.…–+−-][^\d…–−-]*?)?\s*(?:\.{{2,3}}|…|–|—|-|−|\bto\b|\bbis\b|/)\s*(?P<high>{_NUMBER})\s*(?P<unit>.*?)\s*$"
)


def parse_number(text: str) -> Decimal:
    """A number as people write it: decimal comma or point, thousands parted by comma, point or blank.

    A single comma with three digits after it parts thousands in some plants and decimals in others: it is read as
    thousands only where the digits before it are no leading zero. Raises NotANumber.

    >>> parse_number("3,200")
    Decimal('3200')
    >>> parse_number("0,35")
    Decimal('0.35')
    """
    plain = text.strip().replace("−", "-").replace("\N{NO-BREAK SPACE}", " ").replace(" ", "")
    commas, points = plain.count(","), plain.count(".")
    if commas and points:
        thousands, decimal = (",", ".") if plain.rfind(".") > plain.rfind(",") else (".", ",")
        plain = plain.replace(thousands, "").replace(decimal, ".")
    elif commas > 1 or re.fullmatch(r"[-+]?[1-9]\d{0,2},\d{3}", plain):
        plain = plain.replace(",", "")
    elif points > 1:
        plain = plain.replace(".", "")
    else:
        plain = plain.replace(",", ".")
    try:
        number = Decimal(plain)
    except InvalidOperation:
        raise NotANumber(f"“{text.strip()}” is not a number.") from None
    if not number.is_finite():
        raise NotANumber(f"“{text.strip()}” is not a finite number.")
    return number


def parse_range(text: str) -> Range:
    """A range as plants write it: "0-250 degC", "0…250 °C", "-50 to 150 C", "0,0 - 2,5 bar(g)".

    Raises UnknownSpelling, NotANumber or EmptySpan.

    >>> str(parse_range("0…250 °C"))
    '0–250 °C'
    """
    match = _RANGE.match(text)
    unit_text = match and (match["unit"] or match["first_unit"])
    if not match or not unit_text:
        raise UnknownSpelling(f"“{text.strip()}” is not a range. Write it as “0-250 degC”.")
    parsed = spelling(unit_text)
    return Range(parse_number(match["low"]), parse_number(match["high"]), parsed.code, parsed.reference)
