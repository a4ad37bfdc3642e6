from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.hazardous_area.entity_parameters_exceeded import safe_circuits


@rule(
    "safe-circuit-cable-not-recorded",
    severity=Severity.WARNING,
    source="IEC 60079-14 (defaults from memory)",
    wrong=sketch.barrier_loop(capacitance_pf_per_m=None),
    right=sketch.barrier_loop(),
)
def safe_circuit_cable_not_recorded(loop: Loop) -> Iterator[Finding]:
    """Capacitance and inductance per metre are recorded for the cable of an intrinsically safe circuit.

    Why: a limit is passed unnoticed on long runs: the default figures are only a way out.

    Remedy: record the cable's data sheet figures.
    """
    for one, _, _ in safe_circuits(loop):
        for cable in one.link.cables:
            missing = [
                what
                for what, value in (
                    ("capacitance", cable.capacitance_pf_per_m),
                    ("inductance", cable.inductance_uh_per_m),
                )
                if value is None
            ]
            if missing:
                yield finding(
                    one.source_tag,
                    "{missing} of {cable} in its intrinsically safe circuit not recorded; the defaults count",
                    place=cable.name,
                    missing=" and ".join(missing),
                    cable=cable.name,
                )
