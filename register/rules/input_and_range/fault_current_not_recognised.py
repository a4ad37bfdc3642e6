from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import FaultDirection, Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "fault-current-not-recognised",
    severity=Severity.WARNING,
    source="NAMUR NE 43",
    wrong=sketch.with_settings(sketch.pressure_loop(), "PIC-201", fault_above_ma=sketch.number("22.0")),
    right=sketch.pressure_loop(),
)
def fault_current_not_recognised(loop: Loop) -> Iterator[Finding]:
    """The reader declares a fault at a current that the transmitter reaches when it fails.

    Why: a fault is taken for a measured value, or the reverse.

    Remedy: set the reader's limits between the measuring band and the transmitter's fault current: 3.6 and 21.0 mA.
    """
    for one in loop.connections(Purpose.MEASUREMENT):
        settings = one.target_tag.settings
        sender = one.source_tag.model_port(one.source)
        if one.source_tag.role != Role.TRANSMITTER or settings is None or sender is None:
            continue
        direction = one.source_tag.fault_direction
        high, low = sender.failure_high_ma, sender.failure_low_ma
        above, below = settings.fault_above_ma, settings.fault_below_ma
        if direction != FaultDirection.DOWNSCALE and high is not None and above is not None and high < above:
            yield finding(
                one.target_tag,
                "{sender} fails to {fails} mA, {reader} declares a fault from {from_ma} mA",
                place="high fault current",
                sender=one.source_tag.name,
                fails=f"{high:f}",
                reader=one.target_tag.name,
                from_ma=f"{above:f}",
            )
        if direction != FaultDirection.UPSCALE and low is not None and below is not None and low > below:
            yield finding(
                one.target_tag,
                "{sender} fails to {fails} mA, {reader} declares a fault only at {from_ma} mA and below",
                place="low fault current",
                sender=one.source_tag.name,
                fails=f"{low:f}",
                reader=one.target_tag.name,
                from_ma=f"{below:f}",
            )
