from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.wiring import circuit, feeds, is_active, signal_kind


@rule(
    "powered-from-both-ends",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.four_wire_loop(input_feeds=True),
    right=sketch.four_wire_loop(input_feeds=False),
)
def powered_from_both_ends(loop: Loop) -> Iterator[Finding]:
    """An output that feeds its own current meets a passive input.

    A four-wire transmitter feeds itself; a two-wire one, which its circuit feeds, has a rule of its own.

    Why: two sources in one loop fight, and one of them sinks a current that it was not built for.

    Remedy: set the input to passive or use its passive terminals, or set the output to passive where it can be.
    """
    seen = set()
    for one in loop.connections():
        at = (one.source_tag.name, one.source.name)
        if at in seen or signal_kind(one.source.signal) != "current" or not is_active(one):
            continue
        seen.add(at)
        readers = circuit(loop, one.source_tag, one.source).readers
        feeding = [f"{into.target_tag.name} {into.target.name}" for into in readers if feeds(into)]
        if feeding:
            yield finding(
                one.source_tag,
                "{port} feeds the circuit, and so does {readers}",
                place=one.source.name,
                port=one.source.name,
                readers=" and ".join(sorted(feeding)),
            )
