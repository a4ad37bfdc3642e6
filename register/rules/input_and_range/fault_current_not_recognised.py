from __future__ import annotations

from collections.abc import Iterator

from register.calc.signals import MEASURING_HIGH_MA, MEASURING_LOW_MA
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import FaultDirection, Purpose, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.reading import read_signal


@rule(
    "fault-current-not-recognised",
    severity=Severity.WARNING,
    source="NAMUR NE 43",
    wrong=sketch.with_settings(sketch.pressure_loop(), "PIC-201", fault_above_ma=sketch.number("22.0")),
    right=sketch.pressure_loop(),
)
def fault_current_not_recognised(loop: Loop) -> Iterator[Finding]:
    """The reader declares a fault at a current that the sender reaches when it fails, and at none that measures.

    3.8 to 20.5 mA measures; 3.6 mA and below, 21.0 mA and above is failure.

    Why: a fault is taken for a measured value, or the reverse.

    Remedy: set the reader's limits between the measuring band and the sender's fault current: 3.6 and 21.0 mA.
    """
    for one in loop.connections(Purpose.MEASUREMENT):
        settings = one.target_tag.settings
        if settings is None or one.source.signal != "4-20mA" or read_signal(one) != "4-20mA":
            continue
        sender, reader = one.source_tag.model_port(one.source), one.target_tag.model_port(one.target)
        below = settings.fault_below_ma if settings.fault_below_ma is not None else reader and reader.failure_low_ma
        above = settings.fault_above_ma if settings.fault_above_ma is not None else reader and reader.failure_high_ma
        if below is not None and below >= MEASURING_LOW_MA:
            yield finding(
                one.target_tag,
                "it declares a fault at {limit} mA and below; from 3.8 mA on the signal measures",
                place="low limit",
                limit=f"{below:f}",
            )
        if above is not None and above <= MEASURING_HIGH_MA:
            yield finding(
                one.target_tag,
                "it declares a fault at {limit} mA and above; up to 20.5 mA the signal measures",
                place="high limit",
                limit=f"{above:f}",
            )
        fails = one.source_tag.fault_direction
        if sender is None or fails not in (FaultDirection.UPSCALE, FaultDirection.DOWNSCALE):
            continue
        upscale = fails == FaultDirection.UPSCALE
        current, limit = (sender.failure_high_ma, above) if upscale else (sender.failure_low_ma, below)
        if current is None:
            continue
        stated = {"sender": one.source_tag.name, "current": f"{current:f}"}
        if limit is None:
            yield unknown(
                one.target_tag,
                "{sender} fails to {current} mA, but from where on the input declares a fault is not recorded",
                place="fault current",
                **stated,
            )
        elif (current < limit) if upscale else (current > limit):
            yield finding(
                one.target_tag,
                "{sender} fails to {current} mA; the input declares a fault at {limit} mA and "
                + ("above" if upscale else "below"),
                place="fault current",
                limit=f"{limit:f}",
                **stated,
            )
