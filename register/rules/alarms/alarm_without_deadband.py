from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.alarms.alarm_outside_range import ABSOLUTE, DEVIATION
from register.rules.engine import Finding, finding, rule


@rule(
    "alarm-without-deadband",
    severity=Severity.ADVICE,
    source="ISA-18.2",
    wrong=sketch.with_alarm(sketch.temperature_loop(), "TIC-101", "Alarm 1", deadband=Decimal(0)),
    right=sketch.temperature_loop(),
)
def alarm_without_deadband(loop: Loop) -> Iterator[Finding]:
    """An alarm has a dead band wider than the noise of what it watches.

    Why: without one the relay chatters, and so does the operator's list.

    Remedy: set a dead band; about 1 % of span for temperature, 2 % for pressure, 5 % for level and flow is a start.
    """
    for tag in loop.tags:
        for alarm in tag.alarms:
            if alarm.kind in (*ABSOLUTE, *DEVIATION) and not alarm.deadband and not alarm.latching:
                yield finding(tag, "{alarm} has no dead band", place=alarm.name, alarm=alarm.name)
