from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import rounded
from register.rules.wiring import circuit, signal_kind


@rule(
    "current-output-overloaded",
    severity=Severity.ERROR,
    source="the board's data sheet; 600 Ω at 20 mA is common",
    wrong=sketch.two_positioner_loop(resistance_ohm="400"),
    right=sketch.temperature_loop(),
)
def current_output_overloaded(loop: Loop) -> Iterator[Finding]:
    """All that is in series on a current output, receivers, barrier and cable, stays within the load that it can drive.

    Why: the valve never opens fully, or the recorder never reads full scale.

    Remedy: take a receiver off, isolate it, or fit an output that drives more. Two positioners on one rarely fit.
    """
    seen = set()
    for one in loop.connections():
        tag, port = one.source_tag, one.source
        if (tag.name, port.name) in seen or signal_kind(port.signal) != "current":
            continue
        seen.add((tag.name, port.name))
        output = tag.model_port(port)
        if output is None or output.max_load_ohm is None:
            continue
        parts, missing = circuit(loop, tag, port).parts_ohm()
        total = sum(parts.values())
        if total > float(output.max_load_ohm) + 1e-9:
            yield finding(
                tag,
                "{port} drives {rated} Ω; {parts} make {total} Ω",
                place=port.name,
                port=port.name,
                rated=f"{output.max_load_ohm:f}",
                parts=", ".join(f"{name} {rounded(round(ohm, 1))} Ω" for name, ohm in sorted(parts.items())),
                total=rounded(round(total, 1)),
            )
        elif missing:
            yield unknown(
                tag,
                "{port} drives {rated} Ω, but {missing} is not recorded",
                place=port.name,
                port=port.name,
                rated=f"{output.max_load_ohm:f}",
                missing=" and ".join(missing),
            )
