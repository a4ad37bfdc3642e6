from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc.signals import SIGNALS
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "voltage-signal-too-far",
    severity=Severity.WARNING,
    source="IEC 60381-2; 15 m is common practice, no source",
    tolerance=("15", "m"),
    wrong=sketch.voltage_loop(length_m="180"),
    right=sketch.voltage_loop(length_m="3"),
)
def voltage_signal_too_far(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """A voltage signal stays inside a panel; over distance a current is used.

    Why: the cable's drop and the difference of earths add to it: offset and hum.

    Remedy: use 4–20 mA, with a resistor at the reader if it takes volts.
    """
    for one in loop.connections():
        signal = SIGNALS.get(one.source.signal)
        if signal is None or signal.kind != "voltage":
            continue
        length = sum((cable.length_m for cable in one.link.cables if cable.length_m is not None), Decimal(0))
        if length > tolerance:
            yield finding(
                one.source_tag,
                "{signal} runs {length} m to {target}",
                place=one.source.name,
                signal=signal.label,
                length=f"{length:f}",
                target=one.target_tag.name,
            )
