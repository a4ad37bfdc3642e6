from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import ControlForm, Direction, Purpose, Severity
from register.rules.engine import Finding, finding, rule

SWITCHING = ("relay-contact", "triac", "ssr-drive", "")


@rule(
    "motorised-valve-without-two-outputs",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.without_port(
        sketch.without_port(sketch.motorised_valve_loop(), "TIC-101", "Close"), "TV-101", "Close"
    ),
    right=sketch.motorised_valve_loop(),
)
def motorised_valve_without_two_outputs(loop: Loop) -> Iterator[Finding]:
    """A motorised valve has two interlocked outputs, one for each way.

    Why: with one it drives one way only.

    Remedy: fit and assign a second switching output; interlock the two, since both at once blow the motor's capacitor.
    """
    for tag in loop.controllers:
        if tag.settings is None or tag.settings.control != ControlForm.MOTORISED_VALVE:
            continue
        outputs = [port for port in tag.ports_for(Purpose.CONTROL, Direction.OUT) if port.signal in SWITCHING]
        if len(outputs) < 2:
            yield finding(
                tag,
                "it drives a motorised valve by {count} switching output; it needs two",
                count=len(outputs) or "no",
            )
