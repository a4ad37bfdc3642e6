from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.keying import signal_label
from register.plant.values import Loop
from register.plant.words import Direction, Purpose, Severity
from register.rules.engine import Finding, finding, rule

ASKED = (Purpose.MEASUREMENT, Purpose.DIGITAL_INPUT, Purpose.SERIAL, Purpose.POSITION_FEEDBACK)
"""What an input may be for; a remote set point has a rule of its own."""


@rule(
    "input-without-board",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_boards(sketch.bus_loop(), "TIC-101", bay_3=None),
    right=sketch.bus_loop(),
)
def input_without_board(loop: Loop) -> Iterator[Finding]:
    """Every input and serial port that is used exists on what is fitted: built in, or on the board in its bay.

    Why: nothing arrives; the loop was ordered or stocked wrong, or a board was pulled and never put back.

    Remedy: fit a board that takes the signal in that bay, or move the function to an input that exists.
    """
    for tag in loop.tags:
        if tag.asset is None:
            continue  # nothing is installed, so nothing can be missing from it
        for port in tag.ports:
            if port.direction != Direction.IN or port.purpose not in ASKED:
                continue
            provider = tag.provider(port)
            stated = {"port": port.name, "purpose": port.purpose, "bay": port.bay}
            if provider is None:
                empty = tag.asset.model.bay(port.bay) is not None
                yield finding(
                    tag,
                    "{port} ({purpose}) needs a board in bay {bay}, which "
                    + ("is empty" if empty else "the model has not"),
                    place=port.name,
                    **stated,
                )
            elif port.bay and provider.ports and tag.model_port(port) is None:
                yield finding(
                    tag,
                    "{port} must take {signal} for {purpose}; {model} in bay {bay} does not",
                    place=port.name,
                    signal=signal_label(port.signal) or "a signal that is not recorded",
                    model=provider,
                    **stated,
                )
