from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.alarms.alarm_outside_range import ABSOLUTE, DEVIATION
from register.rules.engine import Finding, finding, rule, unknown


@rule(
    "alarm-without-deadband",
    severity=Severity.ADVICE,
    source="ISA-18.2; starting values from memory",
    wrong=sketch.with_alarm(sketch.temperature_loop(), "TIC-101", "Alarm 1", deadband=sketch.number(0)),
    right=sketch.temperature_loop(),
)
def alarm_without_deadband(loop: Loop) -> Iterator[Finding]:
    """An alarm has a dead band wider than the noise of what it watches. One that latches needs none.

    Why: without one the relay chatters, and so does the operator's list.

    Remedy: set a dead band; about 1 % of span for temperature, 2 % for pressure, 5 % for level and flow is a start.
    """
    for tag in loop.tags:
        for alarm in tag.alarms:
            if alarm.latching or alarm.kind not in (*ABSOLUTE, *DEVIATION):
                continue
            if alarm.deadband is None:
                yield unknown(tag, "the dead band of {alarm} is not recorded", place=alarm.name, alarm=alarm.name)
            elif alarm.deadband <= 0:
                yield finding(tag, "{alarm} has no dead band", place=alarm.name, alarm=alarm.name)
