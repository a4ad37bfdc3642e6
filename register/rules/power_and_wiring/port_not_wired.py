from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Direction, Purpose, Severity
from register.rules.engine import Finding, finding, rule

NEEDED = (Purpose.MEASUREMENT, Purpose.CONTROL, Purpose.COOLING_CONTROL)


@rule(
    "port-not-wired",
    severity=Severity.WARNING,
    source="common practice, no source",
    wrong=sketch.without_link(sketch.temperature_loop(), "TIC-101", "Input"),
    right=sketch.temperature_loop(),
)
def port_not_wired(loop: Loop) -> Iterator[Finding]:
    """Every port of the measurement and of the control is wired to something.

    Why: a broken chain measures nothing, or moves nothing, and its sheet cannot be wired from.

    Remedy: record the link, or take the port away if nothing needs it.
    """
    wired = {(link.source_tag, link.source_port) for link in loop.links}
    wired |= {(link.target_tag, link.target_port) for link in loop.links}
    for tag in loop.tags:
        for port in tag.ports:
            if port.purpose not in NEEDED or (tag.name, port.name) in wired:
                continue
            what = "nothing comes to {port}" if port.direction == Direction.IN else "{port} goes nowhere"
            yield finding(tag, what + " ({purpose})", place=port.name, port=port.name, purpose=port.purpose)
