from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Criticality, FailPosition, LoopKind, Role, Severity
from register.rules.engine import Finding, finding, rule, unknown


@rule(
    "fails-to-unsafe-position",
    severity=Severity.ERROR,
    source="common practice; IEC 61511-1 for safety functions",
    wrong=sketch.with_tag(sketch.temperature_loop(), "TV-101", fail_position=FailPosition.OPEN),
    right=sketch.temperature_loop(),
)
def fails_to_unsafe_position(loop: Loop) -> Iterator[Finding]:
    """On loss of air, power or signal a final element goes to the position that is declared safe.

    Fuel and heat usually fail shut, cooling usually fails open.

    Why: heat stays on with nothing that controls it.

    Remedy: fit a final element or actuator that fails to the safe side, then make the controller's action suit.
    """
    matters = loop.kind == LoopKind.TRIP or loop.criticality == Criticality.SAFETY
    for tag in loop.with_role(Role.FINAL_ELEMENT):
        fails = tag.fail_position or (tag.model.fail_position if tag.model else None)
        if tag.safe_position is None:
            if matters:
                yield unknown(tag, "the position that is safe is not recorded")
        elif fails is None:
            yield unknown(
                tag, "{safe} is the safe position, but where it fails to is not recorded", safe=tag.safe_position
            )
        elif fails != tag.safe_position:
            yield finding(
                tag,
                "it {fails}; the safe position is {safe}",
                fails="stays where it is when it fails" if fails == FailPosition.STAYS else f"fails {fails}",
                safe="where it is" if tag.safe_position == FailPosition.STAYS else tag.safe_position,
            )
