from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import ControlForm, LoopKind, Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule

MEASURING = (Role.SENSOR, Role.TRANSMITTER)
READING = (Role.CONTROLLER, Role.INDICATOR, Role.RECORDER, Role.ALARM_UNIT)


@rule(
    "loop-lacks-member",
    severity=Severity.WARNING,
    source="common practice, no source",
    wrong=sketch.without_tag(sketch.temperature_loop(), "TV-101"),
    right=sketch.temperature_loop(),
)
def loop_lacks_member(loop: Loop) -> Iterator[Finding]:
    """A control loop has a measurement, a controller and a final element; another one a measurement and a readout.

    A controller whose output goes to another loop's set point needs no final element of its own.

    Why: an incomplete sheet is issued.

    Remedy: add the missing tag and link it.
    """
    if not loop.tags:
        return
    if not (loop.with_role(*MEASURING) or brought_in(loop)):
        yield finding(loop, "it has no sensor and no transmitter", place="measurement")
    if loop.kind == LoopKind.CONTROL:
        if not loop.controllers:
            yield finding(loop, "it has no controller", place="controller")
        elif not loop.with_role(Role.FINAL_ELEMENT) and not drives_elsewhere(loop):
            yield finding(loop, "it has no final element", place="final element")
    elif not loop.with_role(*READING):
        yield finding(loop, "it has nothing that reads the measurement", place="readout")


def brought_in(loop: Loop) -> bool:
    """Whether the measurement comes from another loop."""
    return any(one.source_tag not in loop.tags for one in loop.connections(Purpose.MEASUREMENT))


def drives_elsewhere(loop: Loop) -> bool:
    """Whether its controllers control by another loop, or control nothing."""
    return any(
        one.target_tag not in loop.tags or one.target.purpose == Purpose.REMOTE_SET_POINT
        for controller in loop.controllers
        for one in loop.links_out_of(controller)
    ) or all(tag.settings is not None and tag.settings.control == ControlForm.NONE for tag in loop.controllers)
