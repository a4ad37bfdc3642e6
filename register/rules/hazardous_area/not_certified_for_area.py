from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from register.plant import sketch
from register.plant.values import Loop, Model
from register.plant.words import Role, Severity
from register.rules.engine import Finding, finding, rule


def _bare(loop: Loop) -> Loop:
    tag = loop.tag("PT-201")
    model = replace(tag.model, ex=None)
    return sketch.with_tag(loop, "PT-201", specified=model, asset=replace(tag.asset, model=model))


@rule(
    "not-certified-for-area",
    severity=Severity.ERROR,
    source="IEC 60079-11 and -14 (simple apparatus: at most 1.5 V, 100 mA, 25 mW, from memory)",
    wrong=_bare(sketch.zoned_loop()),
    right=sketch.zoned_loop(),
)
def not_certified_for_area(loop: Loop) -> Iterator[Finding]:
    """Everything electrical in a hazardous area is certified, or declared simple apparatus.

    Why: one ordinary device in series takes the protection from the whole circuit. The certificate and a competent
    person decide.

    Remedy: fit a certified device; for couples, resistance elements and switches that store next to nothing, record
    that they are simple apparatus.
    """
    for tag in loop.tags:
        if tag.zone and tag.model is not None and is_electrical(tag.model, tag.role) and not is_certified(tag.model):
            yield finding(
                tag,
                "it stands in zone {zone}; {model} has no certificate and is not declared simple apparatus",
                zone=tag.zone,
                model=tag.model,
            )


def is_electrical(model: Model, role: Role) -> bool:
    """A final element that only air moves is not."""
    signals = {one.signal for port in model.ports for one in port.signals}
    pneumatic = signals and all(key.endswith(("psi", "bar")) for key in signals)
    return not (role == Role.FINAL_ELEMENT and (pneumatic or not signals))


def is_certified(model: Model) -> bool:
    return model.ex is not None and bool(model.ex.simple_apparatus or model.ex.protection)
