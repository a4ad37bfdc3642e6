from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.keying import signal_label
from register.plant.values import Loop
from register.plant.words import Direction, Purpose, Severity
from register.rules.engine import Finding, finding, rule

PURPOSES = (
    Purpose.CONTROL,
    Purpose.COOLING_CONTROL,
    Purpose.ALARM,
    Purpose.RETRANSMISSION,
    Purpose.TRANSMITTER_SUPPLY,
)


@rule(
    "output-without-board",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_boards(sketch.temperature_loop(), "TIC-101", bay_1=None),
    right=sketch.temperature_loop(),
)
def output_without_board(loop: Loop) -> Iterator[Finding]:
    """Every output that is used exists on what is fitted: built in, or on a board in the bay that it names.

    Why: the output is dead; the loop was ordered or stocked wrong, or a board was pulled and never put back.

    Remedy: fit a board that makes the signal in that bay, or move the function to an output that exists.
    """
    for tag in loop.tags:
        if tag.model is None:
            continue
        for port in tag.ports:
            if port.direction != Direction.OUT or port.purpose not in PURPOSES:
                continue
            if port.bay and tag.asset is None:
                continue  # nothing is installed, so nothing can be missing from it
            provider = tag.provider(port)
            if provider is None:
                what = "bay {bay}, which is empty" if tag.model.bay(port.bay) else "bay {bay}, which the model has not"
                yield finding(
                    tag,
                    "{port} ({signal}, {purpose}) needs a board in " + what,
                    place=port.name,
                    port=port.name,
                    signal=signal_label(port.signal),
                    purpose=port.purpose,
                    bay=port.bay,
                )
            elif provider.ports and tag.model_port(port) is None:
                yield finding(
                    tag,
                    "{port} must give {signal} for {purpose}; {model} does not make it",
                    place=port.name,
                    port=port.name,
                    signal=signal_label(port.signal) or "a signal that is not recorded",
                    purpose=port.purpose,
                    model=provider,
                )
