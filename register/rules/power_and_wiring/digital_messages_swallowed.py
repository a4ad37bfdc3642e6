from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.plant import sketch
from register.plant.values import Connection, Loop
from register.plant.words import Direction, Purpose, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import rounded
from register.rules.wiring import circuit


@rule(
    "digital-messages-swallowed",
    severity=Severity.WARNING,
    source="230 to 600 Ω is common practice for frequency-shift messages on 4–20 mA",
    tolerance=("230", "Ω"),
    wrong=sketch.digital_loop(input_ohm="50"),
    right=sketch.digital_loop(input_ohm="250"),
)
def digital_messages_swallowed(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """A circuit whose current carries digital messages has enough resistance for them to make a voltage across.

    What counts is all that lies between the transmitter and its supply: inputs, barriers, cable, the supply itself.

    Why: the analogue reading is right, but a hand-held communicator and the polling of its diagnostics get no answer.

    Remedy: put a resistor of 250 Ω in series, and see that the transmitter keeps its least voltage.
    """
    for tag in loop.tags:
        for port in tag.ports_for(Purpose.MEASUREMENT, Direction.OUT):
            sender = tag.model_port(port)
            if sender is None or not sender.digital_on_current:
                continue
            whole = circuit(loop, tag, port)
            if not whole.readers:
                continue  # that it is not wired is another rule's
            parts, missing = whole.parts_ohm()
            present = sum(parts.values()) + sum(_supply_ohm(one) for one in whole.supplies)
            stated = {"present": rounded(round(present, 1)), "needed": f"{tolerance:f}"}
            if present >= float(tolerance) - 1e-9:
                continue
            if missing:
                yield unknown(
                    tag,
                    "its digital messages need {needed} Ω and {present} Ω are recorded, but {missing} is not",
                    place=port.name,
                    missing=" and ".join(missing),
                    **stated,
                )
            else:
                yield finding(
                    tag,
                    "its digital messages need {needed} Ω in the circuit; there are {present} Ω",
                    place=port.name,
                    **stated,
                )


def _supply_ohm(one: Connection) -> float:
    supply = one.source_tag.model_port(one.source)
    return float(supply.supply_resistance_ohm or 0) if supply else 0.0
