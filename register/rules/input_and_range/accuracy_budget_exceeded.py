from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc import accuracy, rtd, thermocouples
from register.calc.errors import CalculationError
from register.calc.ranges import Range
from register.calc.units import convert, convert_difference
from register.plant import sketch
from register.plant.values import Loop, Model, Tag
from register.plant.words import AccuracyBasis, Role, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import quantity


@rule(
    "accuracy-budget-exceeded",
    severity=Severity.WARNING,
    source="ISA-RP67.04.02; IEC 60751:2008; IEC 60584-1:2013",
    wrong=sketch.accuracy_loop(tolerance_class="B"),
    right=sketch.accuracy_loop(tolerance_class="A"),
)
def accuracy_budget_exceeded(loop: Loop) -> Iterator[Finding]:
    """The errors of sensor, transmitter and reader, by root sum of squares, stay within what is required.

    Errors in per cent of span and of reading are first brought to the unit of the range, at the working value.

    Why: the product is off specification, and alarms stand in the wrong place.

    Remedy: a tighter class, an individual calibration, a better transmitter, or a wider requirement. If the sensor
    alone uses the budget up, no better transmitter can mend it.
    """
    measured = loop.range
    if loop.required_accuracy is None or measured is None:
        return
    at = measured.value_at(Decimal(60)) if loop.normal_value is None else loop.normal_value
    parts = [
        (tag, error)
        for tag in loop.tags
        if tag.role in (Role.SENSOR, Role.TRANSMITTER, Role.CONTROLLER, Role.INDICATOR)
        and (error := error_of(tag, measured, at)) is not None
    ]
    total = accuracy.root_sum_of_squares([error for _, error in parts])
    required = float(loop.required_accuracy)
    if total > required * (1 + 1e-9):
        largest = max(parts, key=lambda part: part[1])
        yield finding(
            loop,
            "at {at} the chain is good to {total}; {required} is required. The most is {largest}'s: {error}",
            at=quantity(at, measured),
            total=quantity(total, measured),
            required=quantity(required, measured),
            largest=largest[0].name,
            error=quantity(largest[1], measured),
        )


def error_of(tag: Tag, measured: Range, at: Decimal) -> float | None:
    """A tag's error in the unit of the range at a value; None where its data sheet gives none."""
    model = tag.model
    if model is None:
        return None
    if tag.role == Role.SENSOR:
        return sensor_tolerance(tag, model, measured, at)
    if model.accuracy is None:
        return None
    share = float(model.accuracy)
    if model.accuracy_basis == AccuracyBasis.READING:
        return accuracy.of_reading(share, float(at))
    if model.accuracy_basis == AccuracyBasis.UNIT:
        return share
    if model.accuracy_basis == AccuracyBasis.UPPER_LIMIT and model.range_limits:
        if not model.range_limits.comparable(measured):
            return None
        return accuracy.of_reading(share, float(model.range_limits.value_in(model.range_limits.high, measured)))
    return accuracy.of_span(share, float(measured.span))


def sensor_tolerance(tag: Tag, model: Model, measured: Range, at: Decimal) -> float | None:
    """The tolerance of a sensor's class, in the unit of the range."""
    signal = next((port.signal for port in tag.ports if port.signal.startswith(("pt", "tc-"))), "")
    if not signal or not model.tolerance_class or measured.dimension != "temperature":
        return None
    t_c = float(convert(at, measured.unit, "CEL"))
    try:
        if signal.startswith("tc-"):
            tolerance = thermocouples.tolerance_k(signal[3:], model.tolerance_class, t_c)
        else:
            tolerance = rtd.tolerance_k(model.tolerance_class, t_c, model.construction or "wire wound")
    except CalculationError:
        return None
    return float(convert_difference(Decimal(str(tolerance)), "CEL", measured.unit))
