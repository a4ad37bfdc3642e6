from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import CableFill, Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.power_and_wiring.screen_not_earthed_once import cables_of


@rule(
    "cable-too-small",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_surroundings(
        sketch.temperature_loop(), cables=(CableFill(cable="C-1011", cores_used=5, cores_claimed=5),)
    ),
    right=sketch.with_surroundings(
        sketch.temperature_loop(), cables=(CableFill(cable="C-1011", cores_used=3, cores_claimed=3),)
    ),
)
def cable_too_small(loop: Loop) -> Iterator[Finding]:
    """A cable has cores enough for all links that run in it, and a core belongs to one link.

    Why: a drawing that cannot be wired, found when the cable is pulled.

    Remedy: use another cable, or correct the cores that are recorded.
    """
    cables = {cable.name: cable for cable in cables_of(loop)}
    for fill in loop.surroundings.cables:
        cable = cables.get(fill.cable)
        if cable is None:
            continue
        if cable.cores is not None and fill.cores_used > cable.cores:
            yield finding(
                loop,
                "{cable} has {cores} cores; {used} are in use",
                place=cable.name,
                cable=cable.name,
                cores=cable.cores,
                used=fill.cores_used,
            )
        elif fill.cores_claimed > fill.cores_used:
            yield finding(
                loop,
                "{count} cores of {cable} are claimed by more than one link",
                place=cable.name,
                count=fill.cores_claimed - fill.cores_used,
                cable=cable.name,
            )
