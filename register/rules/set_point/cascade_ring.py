from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule


@rule(
    "cascade-ring",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.with_surroundings(sketch.cascade(), cascade=("TIC-110", "TIC-102")),
    right=sketch.with_surroundings(sketch.cascade(), cascade=("TIC-110",)),
)
def cascade_ring(loop: Loop) -> Iterator[Finding]:
    """No controller gives itself its set point through a chain of others.

    Why: the ring drives itself to one end.

    Remedy: break the ring: one controller of it takes a local set point.
    """
    chain = loop.surroundings.cascade
    for tag in loop.controllers:
        if tag.name in chain:
            yield finding(tag, "its set point comes from itself: {ring}", ring=" ← ".join((tag.name, *chain)))
