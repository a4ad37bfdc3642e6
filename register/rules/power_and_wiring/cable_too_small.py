from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import CableFill, Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.wiring import cables_of


@rule(
    "cable-too-small",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_surroundings(
        sketch.with_cable(sketch.temperature_loop(), "TIC-101", "Input", cores=24),
        cables=(CableFill(cable="C-1011", cores_used=26, cores_claimed=26),),
    ),
    right=sketch.with_surroundings(
        sketch.with_cable(sketch.temperature_loop(), "TIC-101", "Input", cores=24),
        cables=(CableFill(cable="C-1011", cores_used=20, cores_claimed=20),),
    ),
)
def cable_too_small(loop: Loop) -> Iterator[Finding]:
    """A cable has cores enough for all links that run in it.

    Why: a drawing that cannot be wired, found when the cable is pulled.

    Remedy: use another cable, or correct the cores that are recorded.
    """
    fills = {fill.cable: fill.cores_used for fill in loop.surroundings.cables}
    for cable in cables_of(loop):
        if cable.cores is None:
            continue
        own = {core.core for link in loop.links for core in link.cores if core.cable.name == cable.name}
        used = max(len(own), fills.get(cable.name, 0))
        if used > cable.cores:
            yield finding(
                loop,
                "{cable} has {cores} cores; {used} are in use",
                place=cable.name,
                cable=cable.name,
                cores=cable.cores,
                used=used,
            )
