from __future__ import annotations

from collections.abc import Iterator

from register.calc import rtd
from register.calc.errors import CalculationError
from register.plant import sketch
from register.plant.values import Connection, Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded
from register.rules.reading import sensors_read
from register.rules.temperatures import working_c
from register.rules.wiring import conductors_ohm


@rule(
    "wires-at-sensor-and-input-differ",
    severity=Severity.WARNING,
    source="IEC 60751:2008, connection codes",
    wrong=sketch.with_settings(sketch.temperature_loop(), "TIC-101", input_wires=2),
    right=sketch.temperature_loop(),
)
def wires_at_sensor_and_input_differ(loop: Loop) -> Iterator[Finding]:
    """A two-, three- or four-wire element has the matching setting at its input, and as many cores between them.

    A four-wire element may be used on a three-wire input: one of its wires is left off.

    Why: lead resistance is read as temperature; a bridged core loses the compensation silently.

    Remedy: set the input to the element's wires, and pull a cable with as many cores.
    """
    for one in sensors_read(loop):
        model, settings = one.source_tag.model, one.target_tag.settings
        wires = model.wires if model else None
        if wires is None or not one.source.signal.startswith("pt"):
            continue
        set_to = settings.input_wires if settings else None
        if set_to is not None and set_to != wires and (wires, set_to) != (4, 3):
            yield finding(
                one.target_tag,
                "{sensor} has {wires} wires, the input is set to {set_to}: {effect}",
                place=one.target.name,
                sensor=one.source_tag.name,
                wires=wires,
                set_to=set_to,
                effect="a broken sensor is shown" if set_to > wires else lost_compensation(loop, one),
            )
        needed = wires if set_to is None else min(wires, set_to)
        for cable in one.link.cables:
            carried = {
                core.core for core in one.link.cores if core.cable.name == cable.name and core.polarity != "screen"
            }
            if len(carried) < needed:
                yield finding(
                    one.source_tag,
                    "it needs {needed} wires, {cable} carries {cores} of them",
                    place=cable.name,
                    needed=needed,
                    cable=cable.name,
                    cores=len(carried),
                )


def lost_compensation(loop: Loop, one: Connection) -> str:
    """What the reading gains from leads that the input does not take off."""
    leads, at_c = conductors_ohm(one.link), working_c(loop, one)
    if not leads:
        return "the resistance of the leads is read as temperature"
    try:
        element = rtd.element(one.source.signal)
        error = rtd.lead_error_k(at_c, leads, element.r0_ohm, element.curve)
    except CalculationError:
        return "the resistance of the leads is read as temperature"
    return f"its leads of {rounded(leads)} Ω read {rounded(error)} °C high at {rounded(at_c)} °C"
