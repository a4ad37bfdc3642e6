from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.alarms.alarm_outside_range import ABSOLUTE
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import quantity

LEAST_C = Decimal(250)


@rule(
    "type-b-at-low-temperature",
    severity=Severity.ADVICE,
    source="NIST Monograph 175: −0.003 mV at 21 °C, 0.291 mV at 250 °C",
    wrong=sketch.with_alarm(sketch.type_b_loop(), "TIC-302", "Alarm 1", kind="low", set_point=Decimal(80)),
    right=sketch.type_b_loop(),
)
def type_b_at_low_temperature(loop: Loop) -> Iterator[Finding]:
    """Nothing is controlled or alarmed below 250 °C by a type B couple.

    Why: it gives almost nothing there and is not single valued below about 42 °C: start-up is blind, a low alarm is
    false or never comes.

    Remedy: use another type for what must work below 250 °C.
    """
    for tag in loop.tags:
        settings = tag.settings
        if settings is None or settings.input_signal != "tc-B" or tag.range is None:
            continue
        least = tag.range.to("CEL")
        low = [
            ("set point", settings.set_point),
            *((one.name, one.set_point) for one in tag.alarms if one.kind in ABSOLUTE),
        ]
        for what, value in low:
            if value is not None and value < value_at_250(tag.range, least):
                yield finding(
                    tag,
                    "{what} is {value}; type B tells nothing below 250 °C",
                    place=what,
                    what=what,
                    value=quantity(value, tag.range),
                )


def value_at_250(measured, in_celsius) -> Decimal:
    """250 °C in the unit of a range."""
    return measured.low + (LEAST_C - in_celsius.low) * measured.span / in_celsius.span
