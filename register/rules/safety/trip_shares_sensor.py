from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import ControlForm, LoopKind, Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "trip-shares-sensor",
    severity=Severity.WARNING,
    source="IEC 61511-1, independence of protection layers",
    wrong=sketch.with_alarm(sketch.temperature_loop(), "TIC-101", "Alarm 1", trip=True),
    right=sketch.trip_loop(),
)
def trip_shares_sensor(loop: Loop) -> Iterator[Finding]:
    """A trip does not depend on the sensor or the controller whose failure calls for it.

    Why: one fault causes the demand and takes the protection away.

    Remedy: give the trip a sensor, an input and a final element of its own; where they must be shared, the analysis
    says so and the register names it.
    """
    if loop.safety and loop.safety.shared_sensor_justified:
        return
    for tag in loop.controllers:
        if tag.settings is None or tag.settings.control in (None, ControlForm.NONE):
            continue
        for alarm in tag.alarms:
            if alarm.trip:
                yield finding(
                    tag,
                    "it controls, and its {alarm} trips from the same measurement",
                    place=alarm.name,
                    alarm=alarm.name,
                )
    if loop.kind != LoopKind.TRIP:
        return
    for sensor in loop.with_role(Role.SENSOR, Role.TRANSMITTER):
        if sensor.model and sensor.model.element_count and sensor.model.element_count > 1:
            continue
        readers = {one.target_tag.name: one.target_tag for one in loop.links_out_of(sensor, Purpose.MEASUREMENT)}
        controlling = [
            name
            for name, reader in readers.items()
            if reader.settings and reader.settings.control not in (None, ControlForm.NONE)
        ]
        if len(readers) > 1 and controlling:
            yield finding(
                sensor,
                "{readers} share it, and {controlling} controls",
                readers=" and ".join(sorted(readers)),
                controlling=controlling[0],
            )
