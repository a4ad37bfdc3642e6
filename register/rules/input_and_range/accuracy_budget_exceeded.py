from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import difference, quantity
from register.rules.uncertainty import uncertainty


@rule(
    "accuracy-budget-exceeded",
    severity=Severity.WARNING,
    source="ISA-RP67.04.02; JCGM 100:2008; IEC 60751:2008; IEC 60584-1:2013",
    wrong=sketch.accuracy_loop(required="0.6", tolerance_class="A"),
    right=sketch.accuracy_loop(required="1.0", tolerance_class="A"),
)
def accuracy_budget_exceeded(loop: Loop) -> Iterator[Finding]:
    """The errors of sensor, transmitter and reader, by root sum of squares, stay within what is required.

    Errors in per cent of span and of reading are first brought to the unit of the range, at the working value. What
    leads add to a two-wire element is one-sided and counts whole.

    Why: the product is off specification, and alarms stand in the wrong place.

    Remedy: mend the largest part first: a tighter class, an individual calibration, a better transmitter or reader; or
    accept a wider requirement.
    """
    measured = loop.range
    if loop.required_accuracy is None or measured is None:
        return
    at = measured.value_at(Decimal(50)) if loop.normal_value is None else loop.normal_value
    found = uncertainty(loop, measured, at)
    required = float(loop.required_accuracy)
    parts = {**found.errors, **found.biases}
    if parts and found.total > required * (1 + 1e-9):
        largest = max(sorted(parts), key=parts.get)
        yield finding(
            loop,
            "at {at} the measurement is good to {total}; {required} is required. The most is from {largest}: {error}",
            at=quantity(at, measured),
            total=difference(found.total, measured),
            required=difference(required, measured),
            largest=largest,
            error=difference(parts[largest], measured),
        )
    elif found.missing:
        yield unknown(
            loop,
            "{required} is required; of the errors on the way, {missing} is not recorded",
            required=difference(required, measured),
            missing=" and ".join(found.missing),
        )
