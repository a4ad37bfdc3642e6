from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Direction, Purpose, SetPointSource, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "digital-select-without-input",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_settings(sketch.temperature_loop(), "TIC-101", set_point_source=SetPointSource.DIGITAL_SELECT),
    right=sketch.digital_select_loop(),
)
def digital_select_without_input(loop: Loop) -> Iterator[Finding]:
    """A set point that is chosen by a digital input needs one, fitted and wired.

    Why: the controller stays at one set point for ever.

    Remedy: fit a digital-input board and wire the contact, or set the set-point source to local.
    """
    for tag in loop.controllers:
        if tag.settings is None or tag.settings.set_point_source != SetPointSource.DIGITAL_SELECT:
            continue
        ports = tag.ports_for(Purpose.DIGITAL_INPUT, Direction.IN)
        fitted = [port for port in ports if tag.model_port(port) is not None]
        if not fitted:
            what = "has no digital input" if not ports else f"needs a digital-input board in bay {ports[0].bay}"
            yield finding(tag, "its set point is chosen by a digital input, but it {what}", what=what)
        elif not any(one.target in fitted for one in loop.links_into(tag)):
            yield finding(tag, "its set point is chosen by {port}, to which nothing is wired", port=fitted[0].name)
