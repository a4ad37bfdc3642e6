from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import CoilState, Severity
from register.rules.engine import Finding, finding, rule, unknown


@rule(
    "trip-energises",
    severity=Severity.WARNING,
    source="common practice; IEC 61511-1",
    wrong=sketch.with_alarm(sketch.trip_loop(), "TSHH-601", "Trip", coil=CoilState.ENERGISES),
    right=sketch.trip_loop(),
)
def trip_energises(loop: Loop) -> Iterator[Finding]:
    """A trip's coil is energised while all is well and lets go to trip, or its line is monitored.

    Why: a broken wire or a lost supply disables an energise-to-trip circuit unseen.

    Remedy: have it wired normally energised, by the plant's procedure for safety functions; where it must not be, as
    for fire water, monitor the line and say so.
    """
    for tag in loop.tags:
        for alarm in tag.alarms:
            if not alarm.trip:
                continue
            if alarm.coil is None:
                yield unknown(
                    tag, "what the coil of {alarm} does on a trip is not recorded", place=alarm.name, alarm=alarm.name
                )
            elif alarm.coil == CoilState.ENERGISES and not alarm.line_monitored:
                yield finding(
                    tag, "{alarm} energises to trip and its line is not monitored", place=alarm.name, alarm=alarm.name
                )
