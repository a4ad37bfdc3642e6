from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Extreme, FaultDirection, Role, Severity
from register.rules.engine import Finding, finding, rule

NEEDED = {Extreme.HIGH: FaultDirection.UPSCALE, Extreme.LOW: FaultDirection.DOWNSCALE}


@rule(
    "fault-reads-safe",
    severity=Severity.ERROR,
    source="NAMUR NE 43 for the current levels; the direction is common practice, no source",
    wrong=sketch.with_settings(sketch.thermocouple_loop(), "TIC-301", sensor_break=FaultDirection.DOWNSCALE),
    right=sketch.thermocouple_loop(),
)
def fault_reads_safe(loop: Loop) -> Iterator[Finding]:
    """On a broken sensor the reading goes to the side on which the danger lies, so that protection acts.

    Transmitter and receiver pull the same way.

    Why: with an open sensor that reads safe, the heat stays on.

    Remedy: set the sensor-break action, or the transmitter's fault current, towards the danger.
    """
    if loop.danger is None:
        return
    needed = NEEDED[loop.danger]
    for tag in loop.tags:
        set_to = {
            "sensor-break action": tag.settings.sensor_break if tag.settings else None,
            "fault current": tag.fault_direction if tag.role == Role.TRANSMITTER else None,
        }
        for what, direction in set_to.items():
            if direction is not None and direction != needed:
                yield finding(
                    tag,
                    "the danger is {danger}, but its {what} goes {direction}; it must go {needed}",
                    place=what,
                    danger=loop.danger,
                    what=what,
                    direction=direction,
                    needed=needed,
                )
