from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop, Tag
from register.plant.words import AlarmKind, Extreme, FaultDirection, Role, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.reading import measuring_input

NEEDED = {Extreme.HIGH: FaultDirection.UPSCALE, Extreme.LOW: FaultDirection.DOWNSCALE}
SENDERS = (Role.TRANSMITTER, Role.SIGNAL_CONDITIONER)


@rule(
    "fault-reads-safe",
    severity=Severity.ERROR,
    source="NAMUR NE 43 for the current levels; the direction is common practice, no source",
    wrong=sketch.with_settings(sketch.thermocouple_loop(), "TIC-301", sensor_break=FaultDirection.DOWNSCALE),
    right=sketch.thermocouple_loop(),
)
def fault_reads_safe(loop: Loop) -> Iterator[Finding]:
    """On a broken sensor the reading goes to the side on which the danger lies, so that protection acts.

    Transmitter and reader pull the same way. A reading that is held is right only with an alarm on the break.

    Why: with an open sensor that reads safe, the heat stays on.

    Remedy: set the sensor-break action, or the transmitter's fault current, towards the danger.
    """
    trips = any(alarm.trip for tag in loop.tags for alarm in tag.alarms)
    if loop.danger is None:
        if trips:
            yield unknown(loop, "it trips, but on which side the danger lies is not recorded")
        return
    needed = NEEDED[loop.danger]
    for tag in loop.tags:
        settings = tag.settings
        if settings and settings.sensor_break is None and measuring_input(tag) and any(one.trip for one in tag.alarms):
            yield unknown(
                tag, "it trips, but where it goes on a broken sensor is not recorded", place="sensor-break action"
            )
        directions = {
            "sensor-break action": settings.sensor_break if settings else None,
            "fault current": tag.fault_direction if tag.role in SENDERS else None,
        }
        for what, direction in directions.items():
            if direction in (None, needed) or (direction == FaultDirection.HOLD and tells_of_break(tag)):
                continue
            yield finding(
                tag,
                "the danger is {danger}, but on a fault its reading "
                + ("is held" if direction == FaultDirection.HOLD else "goes {direction}")
                + " ({what}); it must go {needed}",
                place=what,
                danger=loop.danger,
                what=what,
                direction=direction,
                needed=needed,
            )


def tells_of_break(tag: Tag) -> bool:
    return any(alarm.kind == AlarmKind.SENSOR_BREAK for alarm in tag.alarms)
