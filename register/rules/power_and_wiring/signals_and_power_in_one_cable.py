from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc.signals import SIGNALS
from register.plant import sketch
from register.plant.keying import signal_label
from register.plant.values import CableFill, Loop
from register.plant.words import CableUse, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.wiring import cables_of, signal_kind

POWER = ("mains", "mains switch")
SENSITIVE = ("thermocouple", "resistance thermometer", "millivolt", "current", "voltage", "serial", "slidewire")
LOW_VOLTAGE = Decimal(50)
"""Volts up to which a switched circuit is no mains."""


@rule(
    "signals-and-power-in-one-cable",
    severity=Severity.WARNING,
    source="IEC 60079-14 for intrinsically safe circuits; otherwise common practice, no source",
    wrong=sketch.with_surroundings(
        sketch.thermocouple_loop(),
        cables=(CableFill(cable="C-3011", cores_used=4, cores_claimed=4, signals=("mains", "tc-K")),),
    ),
    right=sketch.with_surroundings(
        sketch.thermocouple_loop(),
        cables=(CableFill(cable="C-3011", cores_used=2, cores_claimed=2, signals=("tc-K",)),),
    ),
)
def signals_and_power_in_one_cable(loop: Loop) -> Iterator[Finding]:
    """Measuring signals and mains run in separate cables.

    Why: the signal picks up the mains; in a hazardous area a circuit is no longer intrinsically safe.

    Remedy: run a screened pair of its own for the signal, 150 mm from mains, 300 mm from drives.
    """
    carried = {fill.cable: set(fill.signals) for fill in loop.surroundings.cables}
    switched: dict[str, set[str]] = {}
    for one in loop.connections():
        names = {cable.name for cable in one.link.cables}
        for name in names:
            carried.setdefault(name, set()).add(one.source.signal)
        if signal_kind(one.source.signal) == "contact":
            load = one.target_tag.model_port(one.target)
            if load is not None and load.load_v_min is not None and load.load_v_min > LOW_VOLTAGE:
                for name in names:
                    switched.setdefault(name, set()).add(f"{load.load_v_min:f} V to {one.target_tag.name}")
    for cable in cables_of(loop):
        kinds = {key: SIGNALS[key].kind for key in carried.get(cable.name, ()) if key in SIGNALS}
        power = {signal_label(key) for key, kind in kinds.items() if kind in POWER} | switched.get(cable.name, set())
        signals = sorted(signal_label(key) for key, kind in kinds.items() if kind in SENSITIVE)
        if not power and cable.use == CableUse.POWER:
            power = {"what a power cable carries"}
        if power and signals:
            yield finding(
                loop,
                "{cable} carries {signals} beside {power}",
                place=cable.name,
                cable=cable.name,
                signals=", ".join(signals),
                power=", ".join(sorted(power)),
            )
