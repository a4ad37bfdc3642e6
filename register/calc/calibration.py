"""Calibration: points to check, what to inject and expect there, and what the results say."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from register.calc import rtd, thermocouples
from register.calc.checked import finite, positive
from register.calc.errors import CalculationError, EmptySpan
from register.calc.ranges import Range
from register.calc.signals import Signal, electrical_at, scale
from register.calc.units import convert_difference, unit

FIVE_POINTS = (0.0, 25.0, 50.0, 75.0, 100.0)
"""Per cent of span at which a check is made (IEC 61298-2; ISA-51.1)."""


def percents(points: int) -> tuple[float, ...]:
    """So many per cents from 0 to 100, evenly. Raises CalculationError below two.

    >>> percents(5)
    (0.0, 25.0, 50.0, 75.0, 100.0)
    """
    if points < 2:
        raise CalculationError(f"A check needs at least two points, not {points}.")
    return tuple(100 * place / (points - 1) for place in range(points))


def up_and_down(points: int = 5) -> tuple[float, ...]:
    """The same upwards and then downwards; the top counts once.

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
    reference_c: float = 0.0,
) -> Expected:
    """What a signal is at a per cent of a range: mA, V, bar …; mV of a couple against its terminals; Ω of platinum.

    ``reference_c`` is the temperature of the couple's terminals. Raises OutOfRange, WrongDimension, EmptySpan where the
    signal carries no value.

    >>> from register.calc.ranges import parse_range
    >>> from register.calc.signals import SIGNALS
    >>> round(expected_at(50, parse_range("0-250 degC"), SIGNALS["pt100"]).electrical, 2)
    147.95
    """
    finite(percent=percent)
    value = float(measured.low) + float(measured.span) * percent / 100
    if signal.is_span:
        electrical = electrical_at(percent / 100, signal, reversed_=reversed_, square_root=square_root)
        return Expected(percent, value, electrical, unit(signal.unit).symbol)
    if signal.kind not in ("thermocouple", "resistance thermometer"):
        raise EmptySpan(f"{signal.label} carries no value that could be checked point by point.")
    celsius = measured.to("CEL")
    t_c = float(celsius.low) + float(celsius.span) * percent / 100
    if signal.kind == "thermocouple":
        return Expected(percent, value, thermocouples.emf(signal.key[3:], t_c, reference_c), "mV")
    element = rtd.element(signal.key)
    return Expected(percent, value, rtd.resistance(t_c, element.r0_ohm, element.curve), "Ω")


def error_percent_of_span(
    applied: float, measured: float, applied_span: tuple[float, float], output_span: tuple[float, float]
) -> float:
    """Error of an output in per cent of its span, for an applied value. Raises EmptySpan, NotANumber.

    Source: ISA-51.1; IEC 61298-2.

    >>> round(error_percent_of_span(50, 12.04, (-50, 150), (4, 20)), 4)
    0.25
    """
    ideal = scale(applied, applied_span, output_span)
    if output_span[0] == output_span[1]:
        raise EmptySpan("The output span has no width.")
    return (measured - ideal) * 100 / abs(output_span[1] - output_span[0])


def hysteresis_percent(up: Sequence[float], down: Sequence[float], output_span: tuple[float, float]) -> float:
    """Largest difference between upward and downward readings, in per cent of span. Source: ISA-51.1.

    >>> round(hysteresis_percent([4.0, 8.01, 12.02], [4.01, 8.05, 12.05], (4, 20)), 4)
    0.25
    """
    if len(up) != len(down) or not up:
        raise CalculationError("Hysteresis needs a downward reading for each upward one.")
    if output_span[0] == output_span[1]:
        raise EmptySpan("The output span has no width.")
    return (
        max(abs(one - other) for one, other in zip(up, down, strict=True)) * 100 / abs(output_span[1] - output_span[0])
    )


def worst_error_percent(readings: Sequence[float], output_span: tuple[float, float]) -> float:
    """Largest error, signed, of readings taken at even points from 0 to 100 %, in per cent of span.

    >>> round(worst_error_percent([4.0, 12.05, 20.01], (4, 20)), 4)
    0.3125
    """
    errors = [
        error_percent_of_span(percent, reading, (0.0, 100.0), output_span)
        for percent, reading in zip(percents(len(readings)), readings, strict=True)
    ]
    return max(errors, key=abs)


def passes(error_percent: float, tolerance_percent: float) -> bool:
    """Whether an error is within its tolerance; equality passes. Raises OutOfRange.

    >>> passes(-0.3125, 0.25)
    False
    """
    finite(error=error_percent)
    positive(tolerance=tolerance_percent)
    return abs(error_percent) <= tolerance_percent * (1 + 1e-12)


def drift_percent(earlier_as_left: Sequence[float], later_as_found: Sequence[float]) -> float:
    """Largest change, signed, from one calibration's as-left errors to the next one's as-found errors.

    >>> round(drift_percent([0.0, 0.05], [0.1, 0.3]), 2)
    0.25
    """
    if len(earlier_as_left) != len(later_as_found) or not earlier_as_left:
        raise CalculationError("Drift needs the same points in both calibrations.")
    return max((late - early for early, late in zip(earlier_as_left, later_as_found, strict=True)), key=abs)


def accuracy_ratio(tolerance: float, standard_uncertainty: float) -> float:
    """How many times better the standard is than the tolerance under test; four is customary. Raises OutOfRange.

    >>> accuracy_ratio(0.1, 0.04)
    2.5
    """
    positive(tolerance=tolerance, uncertainty_of_the_standard=standard_uncertainty)
    return tolerance / standard_uncertainty


def tolerance_in_unit(tolerance_percent: float, measured: Range, code: str) -> float:
    """A tolerance in per cent of span as a difference in a unit. Raises WrongDimension."""
    positive(tolerance=tolerance_percent)
    if not math.isfinite(tolerance_percent):
        raise CalculationError("A tolerance must be finite.")
    return float(convert_difference(measured.span, measured.unit, code)) * tolerance_percent / 100
