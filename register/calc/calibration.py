"""Calibration: points to check, what to inject and expect there, and what the results say."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from register.calc import rtd, thermocouples
from register.calc.checked import finite, finite_each, positive
from register.calc.errors import CalculationError, EmptySpan, WrongDimension
from register.calc.ranges import Range
from register.calc.signals import Signal, electrical_at, scale
from register.calc.units import convert_difference, unit


def percents(points: int, *, inset: bool = False) -> tuple[float, ...]:
    """So many per cents from 0 to 100, evenly; inset ones leave the ends out, where an output may be limited.

    Raises CalculationError below two.
    Source: IEC 61298-2; ISA-51.1.

    >>> percents(5)
    (0.0, 25.0, 50.0, 75.0, 100.0)
    >>> percents(5, inset=True)
    (10.0, 30.0, 50.0, 70.0, 90.0)
    """
    if points < 2:
        raise CalculationError(f"A check needs at least two points, not {points}.")
    if inset:
        return tuple(100 * (place + 0.5) / points for place in range(points))
    return tuple(100 * place / (points - 1) for place in range(points))


FIVE_POINTS = percents(5)
"""Per cent of span at which a check is made (IEC 61298-2; ISA-51.1)."""


def up_and_down(points: int = 5) -> tuple[float, ...]:
    """The same upwards and then downwards; the top counts once.

    Source: IEC 61298-2; ISA-51.1.

    >>> up_and_down(3)
    (0.0, 50.0, 100.0, 50.0, 0.0)
    """
    up = percents(points)
    return (*up, *reversed(up[:-1]))


@dataclass(frozen=True, slots=True)
class Expected:
    """What a point of the check expects: engineering value and electrical value, and the latter's unit symbol."""

    percent: float
    value: float
    electrical: float
    symbol: str


def expected_at(
    percent: float,
    measured: Range,
    signal: Signal,
    *,
    reversed_: bool = False,
    square_root: bool = False,
    square_root_after: bool = False,
    reference_c: float = 0.0,
) -> Expected:
    """What a signal is at a per cent of a range: mA, V, bar …; mV of a couple against its terminals; Ω of platinum.

    ``square_root``: the root is extracted before the signal, so it is linear in flow and the range is of differential
    pressure. ``square_root_after``: its reader extracts the root, so the range is of flow and the signal goes with its
    square. ``reference_c`` is the temperature of the couple's terminals. Raises OutOfRange, WrongDimension, NotANumber,
    EmptySpan where the signal carries no value.
    Source: IEC 60381-1 and -2, IEC 60382, NIST Monograph 175, IEC 60751.

    >>> from register.calc.ranges import parse_range
    >>> from register.calc.signals import SIGNALS
    >>> round(expected_at(50, parse_range("0-250 degC"), SIGNALS["pt100"]).electrical, 2)
    147.95
    >>> expected_at(50, parse_range("0-80 m3/h"), SIGNALS["4-20mA"], square_root_after=True).electrical
    8.0
    """
    finite(percent=percent)
    value = float(measured.low) + float(measured.span) * percent / 100
    if signal.is_span:
        fraction = (percent / 100) ** 2 if square_root_after else percent / 100
        electrical = electrical_at(fraction, signal, reversed_=reversed_, square_root=square_root)
        return Expected(percent, value, electrical, unit(signal.unit).symbol)
    if signal.kind not in ("thermocouple", "resistance thermometer"):
        raise EmptySpan(f"{signal.label} carries no value that could be checked point by point.")
    if measured.reference == "difference":
        raise WrongDimension(f"{signal.label} measures a temperature; {measured} is a difference of two.")
    celsius = measured.to("CEL")
    t_c = float(celsius.low) + float(celsius.span) * percent / 100
    if signal.kind == "thermocouple":
        return Expected(percent, value, thermocouples.emf(signal.key[3:], t_c, reference_c), "mV")
    element = rtd.element(signal.key)
    return Expected(percent, value, rtd.resistance(t_c, element.r0_ohm, element.curve), "Ω")


def error_percent_of_span(
    applied: float, measured: float, applied_span: tuple[float, float], output_span: tuple[float, float]
) -> float:
    """Error of an output in per cent of its span, for an applied value; of a reading, where both spans are the same.

    Raises EmptySpan, NotANumber. Source: ISA-51.1; IEC 61298-2.

    >>> round(error_percent_of_span(50, 12.04, (-50, 150), (4, 20)), 4)
    0.25
    """
    finite(measured=measured)
    return (measured - scale(applied, applied_span, output_span)) * 100 / _width(output_span)


def _width(output_span: tuple[float, float]) -> float:
    low, high = output_span
    finite(low_output=low, high_output=high)
    if low == high:
        raise EmptySpan(f"An output span from {low:g} to {high:g} has no width.")
    return abs(high - low)


def hysteresis_percent(up: Sequence[float], down: Sequence[float], output_span: tuple[float, float]) -> float:
    """Largest difference between upward and downward readings, in per cent of span.

    Raises CalculationError where the two runs have not the same points, EmptySpan, NotANumber. Source: ISA-51.1.

    >>> round(hysteresis_percent([4.0, 8.01, 12.02], [4.01, 8.05, 12.05], (4, 20)), 4)
    0.25
    """
    return max(abs(one - other) for one, other in _pairs(up, down)) * 100 / _width(output_span)


def _pairs(first: Sequence[float], second: Sequence[float]) -> list[tuple[float, float]]:
    if len(first) != len(second) or not first:
        raise CalculationError(f"Both runs need the same points: one has {len(first)}, the other {len(second)}.")
    finite_each("reading", (*first, *second))
    return list(zip(first, second, strict=True))


def worst_error_percent(readings: Sequence[float], output_span: tuple[float, float]) -> float:
    """Largest error, signed, of readings taken at even points from 0 to 100 %, in per cent of span.

    Raises CalculationError below two readings, EmptySpan, NotANumber.
    Source: ISA-51.1; IEC 61298-2.

    >>> round(worst_error_percent([4.0, 12.05, 20.01], (4, 20)), 4)
    0.3125
    """
    errors = [
        error_percent_of_span(percent, reading, (0.0, 100.0), output_span)
        for percent, reading in zip(percents(len(readings)), readings, strict=True)
    ]
    return max(errors, key=abs)


def passes(error_percent: float, tolerance_percent: float) -> bool:
    """Whether an error, as found or as left, is within its tolerance; equality passes. Raises OutOfRange, NotANumber.

    Source: ISA-51.1; equality: common practice.

    >>> passes(-0.3125, 0.25)
    False
    """
    finite(error=error_percent)
    positive(tolerance=tolerance_percent)
    return abs(error_percent) <= tolerance_percent * (1 + 1e-12)


def drift_percent(earlier_as_left: Sequence[float], later_as_found: Sequence[float]) -> float:
    """Largest change, signed, from one calibration's as-left errors to the next one's as-found errors.

    All in per cent of span. Raises CalculationError where the two have not the same points, NotANumber.
    Source: common practice.

    >>> round(drift_percent([0.0, 0.05], [0.1, 0.3]), 2)
    0.25
    """
    return max((late - early for early, late in _pairs(earlier_as_left, later_as_found)), key=abs)


def due_on(last: date, interval_months: int) -> date:
    """The day on which the next calibration or proof test is due: the same day of the month, or that month's last.

    Source: common practice.

    >>> due_on(date(2025, 8, 31), 6)
    datetime.date(2026, 2, 28)
    """
    months = last.year * 12 + last.month - 1 + interval_months
    year, month = divmod(months, 12)
    return date(year, month + 1, min(last.day, monthrange(year, month + 1)[1]))


def accuracy_ratio(tolerance: float, standard_uncertainty: float) -> float:
    """How many times better the standard is than the tolerance under test; four is customary. Raises OutOfRange.

    Source: ANSI/NCSL Z540.3 custom of 4 to 1 (from memory).

    >>> accuracy_ratio(0.1, 0.04)
    2.5
    """
    positive(tolerance=tolerance, uncertainty_of_the_standard=standard_uncertainty)
    return tolerance / standard_uncertainty


def in_unit(percent_of_span: float, measured: Range, code: str) -> float:
    """An error or a tolerance in per cent of span as a difference in a unit. Raises WrongDimension, NotANumber.

    Source: ISA-51.1, span.

    >>> from register.calc.ranges import parse_range
    >>> in_unit(0.25, parse_range("0-200 degC"), "FAH")
    0.9
    """
    finite(per_cent=percent_of_span)
    return float(convert_difference(measured.span, measured.unit, code)) * percent_of_span / 100
