from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.keying import signal_label
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.wiring import signal_kind


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
        if signal_kind(one.source.signal) != "voltage":
            continue
        lengths = [cable.length_m for cable in one.link.cables]
        length = sum((each for each in lengths if each is not None), Decimal(0))
        stated = {"signal": signal_label(one.source.signal), "target": one.target_tag.name}
        if length > tolerance:
            yield finding(
                one.source_tag,
                "{signal} runs {length} m to {target}",
                place=one.source.name,
                length=f"{length:f}",
                **stated,
            )
        elif None in lengths:
            yield unknown(
                one.source_tag,
                "{signal} runs to {target} by a cable whose length is not recorded",
                place=one.source.name,
                **stated,
            )
