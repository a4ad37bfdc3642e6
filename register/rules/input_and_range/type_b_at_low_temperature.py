from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import AlarmKind, Severity
from register.rules.alarms.alarm_outside_range import ABSOLUTE
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import quantity
from register.rules.reading import sensors_read
from register.rules.temperatures import in_celsius

LEAST_C = 250


@rule(
    "type-b-at-low-temperature",
    severity=Severity.ADVICE,
    source="NIST Monograph 175: −0.003 mV at 21 °C, 0.291 mV at 250 °C",
    wrong=sketch.with_alarm(sketch.type_b_loop(), "TIC-302", "Alarm 1", kind=AlarmKind.LOW, set_point=Decimal(80)),
    right=sketch.type_b_loop(),
)
def type_b_at_low_temperature(loop: Loop) -> Iterator[Finding]:
    """Nothing is controlled or alarmed below 250 °C by a type B couple.

    Why: it gives almost nothing there and is not single valued below about 42 °C: start-up is blind, a low alarm is
    false or never comes.

    Remedy: use another type for what must work below 250 °C.
    """
    for one in sensors_read(loop):
        tag, measured = one.target_tag, one.target_tag.range
        if one.source.signal != "tc-B" or measured is None or measured.dimension != "temperature":
            continue
        values = [("set point", tag.settings.set_point if tag.settings else None)]
        values += [(alarm.name, alarm.set_point) for alarm in tag.alarms if alarm.kind in ABSOLUTE]
        for what, value in values:
            if value is not None and in_celsius(value, measured) < LEAST_C:
                yield finding(
                    tag,
                    "{what} is {value}; type B tells nothing below 250 °C",
                    place=what,
                    what=what,
                    value=quantity(value, measured),
                )
