from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "wires-at-sensor-and-input-differ",
    severity=Severity.WARNING,
    source="IEC 60751:2008, connection codes",
    wrong=sketch.with_settings(sketch.temperature_loop(), "TIC-101", input_wires=2),
    right=sketch.temperature_loop(),
)
def wires_at_sensor_and_input_differ(loop: Loop) -> Iterator[Finding]:
    """A two-, three- or four-wire element has the matching setting at its input, and as many cores between them.

    Why: lead resistance is read as temperature; a bridged core loses the compensation silently.

    Remedy: set the input to the element's wires, and pull a cable with as many cores.
    """
    for one in loop.connections(Purpose.MEASUREMENT):
        model, settings = one.source_tag.model, one.target_tag.settings
        if one.source_tag.role != Role.SENSOR or model is None or not one.source.signal.startswith("pt"):
            continue
        wires = model.wires
        if wires is None:
            continue
        if settings and settings.input_wires is not None and settings.input_wires != wires:
            yield finding(
                one.target_tag,
                "{sensor} has {wires} wires, the input is set to {set_to}",
                place=one.target.name,
                sensor=one.source_tag.name,
                wires=wires,
                set_to=settings.input_wires,
            )
        for cable in one.link.cables:
            carrying = [core for core in one.link.cores if core.cable.name == cable.name and core.polarity != "screen"]
            if len(carrying) < wires:
                yield finding(
                    one.source_tag,
                    "it has {wires} wires, {cable} carries {cores} of them",
                    place=cable.name,
                    wires=wires,
                    cable=cable.name,
                    cores=len(carrying),
                )
