from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Purpose, Severity
from register.rules.engine import Finding, finding, rule

COMPARED = (Purpose.MEASUREMENT, Purpose.REMOTE_SET_POINT, Purpose.RETRANSMISSION)


@rule(
    "reversed-at-one-end",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_port(sketch.pressure_loop(), "PT-201", "Output", reversed=True),
    right=sketch.pressure_loop(),
)
def reversed_at_one_end(loop: Loop) -> Iterator[Finding]:
    """A signal that is reversed at its sender is reversed at its reader too.

    A control signal is left out: a reversal there is part of the sign round the loop.

    Why: one reversal too many turns control into positive feedback.

    Remedy: reverse the other end as well, or neither.
    """
    for one in loop.connections():
        if one.source.purpose not in COMPARED or one.source.reversed == one.target.reversed:
            continue
        ends = [f"{one.source_tag.name} {one.source.name}", f"{one.target_tag.name} {one.target.name}"]
        turned, straight = ends if one.source.reversed else ends[::-1]
        yield finding(
            one.target_tag,
            "{turned} is reversed, {straight} is not: at a true 20 % it shows 80 %",
            place=one.target.name,
            turned=turned,
            straight=straight,
        )
