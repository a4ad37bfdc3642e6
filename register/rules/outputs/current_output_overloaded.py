from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from register.calc.signals import SIGNALS
from register.plant import sketch
from register.plant.values import Connection, Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.input_and_range.lead_error_too_large import lead_resistance_ohm
from register.rules.numbers import rounded


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
    by_output: dict[tuple[str, str], list[Connection]] = defaultdict(list)
    for one in loop.connections():
        signal = SIGNALS.get(one.source.signal)
        if signal is not None and signal.kind == "current":
            by_output[one.source_tag.name, one.source.name].append(one)
    for connections in by_output.values():
        tag, port = connections[0].source_tag, connections[0].source
        output = tag.model_port(port)
        if output is None or output.max_load_ohm is None:
            continue
        parts = [(one.target_tag.name, resistance_ohm(one)) for one in connections]
        total = sum(ohm for _, ohm in parts)
        if total > float(output.max_load_ohm):
            yield finding(
                tag,
                "{port} drives {rated} Ω; {parts} make {total} Ω",
                place=port.name,
                port=port.name,
                rated=f"{output.max_load_ohm:f}",
                parts=" and ".join(f"{name} {rounded(ohm)} Ω with its cable" for name, ohm in sorted(parts)),
                total=rounded(total),
            )


def resistance_ohm(one: Connection) -> float:
    """What a receiver and its cable put in series, as far as it is known."""
    receiver, model = one.target_tag.model_port(one.target), one.target_tag.model
    own = receiver.resistance_ohm if receiver else None
    through = model.series_resistance_ohm if model else None
    return (
        float(own or 0) + float(through or 0) + float(one.link.shunt_ohm or 0) + (lead_resistance_ohm(one.link) or 0.0)
    )
