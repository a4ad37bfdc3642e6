from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import ControlForm, Direction, LoopKind, Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule

MEASURING = (Role.SENSOR, Role.TRANSMITTER)
READING = (Role.CONTROLLER, Role.INDICATOR, Role.RECORDER, Role.ALARM_UNIT)
CONTROL = (Purpose.CONTROL, Purpose.COOLING_CONTROL)


@rule(
    "loop-lacks-member",
    severity=Severity.WARNING,
    source="common practice, no source",
    wrong=sketch.without_port(sketch.without_tag(sketch.temperature_loop(), "TV-101"), "TIC-101", "Output 1"),
    right=sketch.temperature_loop(),
)
def loop_lacks_member(loop: Loop) -> Iterator[Finding]:
    """A control loop has a measurement, a controller and a final element; another one a measurement and a readout.

    A controller whose output goes to another loop, as a set point for instance, needs no final element of its own. An
    alarm loop has an alarm, a trip loop one that trips.

    Why: an incomplete sheet is issued.

    Remedy: add the missing tag and link it.
    """
    if not loop.tags:
        return
    if not loop.with_role(*MEASURING) and not comes_from_elsewhere(loop):
        yield finding(loop, "it has no sensor and no transmitter", place="measurement")
    alarms = [alarm for tag in loop.tags for alarm in tag.alarms]
    if loop.kind == LoopKind.CONTROL:
        if not loop.controllers:
            yield finding(loop, "it has no controller", place="controller")
        elif not loop.with_role(Role.FINAL_ELEMENT) and not drives_elsewhere(loop):
            yield finding(loop, "it has no final element", place="final element")
    elif not loop.with_role(*READING):
        yield finding(loop, "nothing in it reads the measurement", place="readout")
    elif loop.kind == LoopKind.ALARM and not alarms:
        yield finding(loop, "it is an alarm loop, and has no alarm", place="alarm")
    elif loop.kind == LoopKind.TRIP and not any(alarm.trip for alarm in alarms):
        yield finding(loop, "it is a trip loop, and nothing in it trips", place="trip")


def comes_from_elsewhere(loop: Loop) -> bool:
    """Whether a measurement is brought in from another loop."""
    return any(
        one.source.purpose in (Purpose.MEASUREMENT, Purpose.RETRANSMISSION) and not loop.owns(one.source_tag.name)
        for one in loop.connections()
    )


def drives_elsewhere(loop: Loop) -> bool:
    """Whether its controllers act through another loop, or control nothing."""
    if all(tag.settings is not None and tag.settings.control == ControlForm.NONE for tag in loop.controllers):
        return True
    return any(
        one.source.direction == Direction.OUT and one.source.purpose in CONTROL and not loop.owns(one.target_tag.name)
        for one in loop.connections()
    ) or any(one.source.purpose == Purpose.REMOTE_SET_POINT for one in loop.connections())
