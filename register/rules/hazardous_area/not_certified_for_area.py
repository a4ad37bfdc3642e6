from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop, Model
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.hazardous import certificate
from register.rules.wiring import signal_kind


@rule(
    "not-certified-for-area",
    severity=Severity.ERROR,
    source="IEC 60079-11 and -14 (simple apparatus: at most 1.5 V, 100 mA, 25 mW, from memory)",
    wrong=sketch.with_model(sketch.zoned_loop(), "PT-201", ex=None),
    right=sketch.zoned_loop(),
)
def not_certified_for_area(loop: Loop) -> Iterator[Finding]:
    """Everything electrical in a hazardous area is certified, or declared simple apparatus.

    What only air moves is not electrical.

    Why: one ordinary device in series takes the protection from the whole circuit. The certificate and a competent
    person decide.

    Remedy: fit a certified device; for couples, resistance elements and switches that store next to nothing, record
    that they are simple apparatus.
    """
    for tag in loop.tags:
        if not tag.zone or tag.model is None or not is_electrical(tag.model):
            continue
        ex = certificate(tag)
        if ex is None or not (ex.simple_apparatus or ex.protection):
            yield finding(
                tag,
                "it stands in zone {zone}; {model} has no certificate and is not declared simple apparatus",
                zone=tag.zone,
                model=tag.model,
            )


def is_electrical(model: Model) -> bool:
    kinds = {signal_kind(one.signal) for port in model.ports for one in port.signals}
    return kinds != {"pneumatic"}
