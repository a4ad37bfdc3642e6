from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc import thermocouples
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "extension-cable-too-hot",
    severity=Severity.WARNING,
    source="IEC 60584-3:2007",
    wrong=sketch.with_cable(
        sketch.with_tag(sketch.thermocouple_loop(), "TE-301", ambient_c=Decimal(140)),
        "TIC-301",
        "Input",
        designation="KCB",
    ),
    right=sketch.with_tag(sketch.thermocouple_loop(), "TE-301", ambient_c=Decimal(140)),
)
def extension_cable_too_hot(loop: Loop) -> Iterator[Finding]:
    """The head stays within the temperatures for which the extension or compensating cable is made.

    Why: compensating alloys match the couple over a short span only, so the error appears on hot days or near the
    furnace.

    Remedy: lay a cable made for the temperature (KX to 200 °C, KCA to 150 °C, KCB to 100 °C), or move the head.
    """
    for one in loop.connections(Purpose.MEASUREMENT):
        head_c = one.source_tag.ambient_c
        if one.source_tag.role != Role.SENSOR or head_c is None:
            continue
        for cable in one.link.cables:
            made = thermocouples.extension_cables().get(cable.designation.upper())
            if made and not made.t_min_c <= float(head_c) <= made.t_max_c:
                yield finding(
                    one.source_tag,
                    "its head reaches {head} °C; {designation} is made for {low:} to {high} °C",
                    place=cable.name,
                    head=f"{head_c:f}",
                    designation=made.designation,
                    low=f"{made.t_min_c:g}".replace("-", "−"),
                    high=f"{made.t_max_c:g}",
                )
