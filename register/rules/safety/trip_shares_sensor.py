from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Connection, Loop
from register.plant.words import ControlForm, Direction, Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule

CONTROL = (Purpose.CONTROL, Purpose.COOLING_CONTROL)


@rule(
    "trip-shares-sensor",
    severity=Severity.WARNING,
    source="IEC 61511-1, independence of protection layers",
    wrong=sketch.with_alarm(sketch.temperature_loop(), "TIC-101", "Alarm 1", trip=True),
    right=sketch.trip_loop(),
)
def trip_shares_sensor(loop: Loop) -> Iterator[Finding]:
    """A trip does not depend on the sensor, the controller or the final element whose failure calls for it.

    Two elements in one sheath, each with its own wires, count as two.

    Why: one fault causes the demand and takes the protection away.

    Remedy: give the trip a sensor, an input and a final element of its own, by the plant's procedure for safety
    functions; where they must be shared, the analysis says so and the register names it.
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
    for tag in loop.tags:
        for port in tag.ports_for(Purpose.MEASUREMENT, Direction.OUT):
            readers = [one for one in loop.links_out_of(tag) if one.source is port]
            yield from shared(tag, port.name, "reads {port}", readers, trips, controls)
        if tag.role == Role.FINAL_ELEMENT:
            drivers = list(loop.links_into(tag))
            yield from shared(tag, "", "drives it", drivers, trips_it, lambda one: one.source.purpose in CONTROL)


def shared(tag, place, does, links, tripping, controlling) -> Iterator[Finding]:
    """What a trip and a control loop both hang on."""
    ends = {one: one.target_tag.name if one.source_tag is tag else one.source_tag.name for one in links}
    for trip in sorted({ends[one] for one in links if tripping(one)}):
        others = sorted({ends[one] for one in links if controlling(one)} - {trip})
        if others:
            yield finding(
                tag,
                "{trip} trips and {control} controls, and each " + does,
                place=place or "final element",
                trip=trip,
                control=" and ".join(others),
                port=place,
            )
            return


def trips(one: Connection) -> bool:
    """Whether a reader trips: it is an alarm unit, or has an alarm that does."""
    reader = one.target_tag
    return reader.role == Role.ALARM_UNIT or any(alarm.trip for alarm in reader.alarms)


def controls(one: Connection) -> bool:
    settings = one.target_tag.settings
    return settings is not None and settings.control not in (None, ControlForm.NONE)


def trips_it(one: Connection) -> bool:
    """Whether what comes to a final element comes from a trip's output."""
    source = one.source_tag
    return one.source.purpose == Purpose.ALARM and (
        source.role == Role.ALARM_UNIT or any(alarm.trip and alarm.output == one.source.name for alarm in source.alarms)
    )
