from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Role, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import difference, quantity
from register.rules.uncertainty import uncertainty


@rule(
    "sensor-uses-up-accuracy",
    severity=Severity.ADVICE,
    source="IEC 60751:2008; IEC 60584-1:2013",
    wrong=sketch.accuracy_loop(required="1.0", tolerance_class="B"),
    right=sketch.accuracy_loop(required="1.0", tolerance_class="A"),
)
def sensor_uses_up_accuracy(loop: Loop) -> Iterator[Finding]:
    """The tolerance of the bare sensor at the working value leaves something of the required accuracy to the rest.

    Why: no better transmitter can mend it, and money is spent on the wrong part.

    Remedy: fit a sensor of a tighter class, calibrate this one individually, or accept a wider requirement.
    """
    measured = loop.range
    if loop.required_accuracy is None or measured is None or measured.dimension != "temperature":
        return
    at = measured.value_at(Decimal(50)) if loop.normal_value is None else loop.normal_value
    errors = uncertainty(loop, measured, at).errors
    for tag in loop.with_role(Role.SENSOR):
        error = errors.get(tag.name)
        if error is not None and error > float(loop.required_accuracy) * (1 + 1e-9):
            yield finding(
                tag,
                "class {name} is good to {error} at {at}; the whole loop must be good to {required}",
                name=tag.model.tolerance_class,
                error=difference(error, measured),
                at=quantity(at, measured),
                required=difference(loop.required_accuracy, measured),
            )
