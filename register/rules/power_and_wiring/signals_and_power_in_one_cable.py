from __future__ import annotations

from collections.abc import Iterator

from register.calc.signals import SIGNALS
from register.plant import sketch
from register.plant.values import CableFill, Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule

POWER = ("mains", "mains switch")
SENSITIVE = ("thermocouple", "resistance thermometer", "millivolt", "current", "voltage", "serial")


@rule(
    "signals-and-power-in-one-cable",
    severity=Severity.WARNING,
    source="IEC 60079-14 for intrinsically safe circuits; otherwise common practice, no source",
    wrong=sketch.with_surroundings(
        sketch.temperature_loop(),
        cables=(CableFill(cable="C-1011", cores_used=4, cores_claimed=4, signals=("pt100", "mains")),),
    ),
    right=sketch.with_surroundings(
        sketch.temperature_loop(),
        cables=(CableFill(cable="C-1011", cores_used=3, cores_claimed=3, signals=("pt100",)),),
    ),
)
def signals_and_power_in_one_cable(loop: Loop) -> Iterator[Finding]:
    """Measuring signals and mains run in separate cables.

    Why: the signal picks up the mains; in a hazardous area a circuit is no longer intrinsically safe.

    Remedy: run a screened pair of its own for the signal, 150 mm from mains, 300 mm from drives.
    """
    for fill in loop.surroundings.cables:
        kinds = {key: SIGNALS[key].kind for key in fill.signals if key in SIGNALS}
        power = [SIGNALS[key].label for key, kind in kinds.items() if kind in POWER]
        signals = [SIGNALS[key].label for key, kind in kinds.items() if kind in SENSITIVE]
        if power and signals:
            yield finding(
                loop,
                "{cable} carries {signals} beside {power}",
                place=fill.cable,
                cable=fill.cable,
                signals=", ".join(signals),
                power=", ".join(power),
            )
