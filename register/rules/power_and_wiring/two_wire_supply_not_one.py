from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Direction, Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.wiring import circuit, feeds


@rule(
    "two-wire-supply-not-one",
    severity=Severity.ERROR,
    source="common practice, no source",
    wrong=sketch.without_link(sketch.pressure_loop(), "PT-201", "Supply"),
    right=sketch.pressure_loop(),
)
def two_wire_supply_not_one(loop: Loop) -> Iterator[Finding]:
    """A two-wire transmitter has exactly one source of voltage in its circuit.

    That is an input that feeds it, a supply unit, a supply board, a barrier or an isolator. A passive input gives none.

    Why: with none the loop is dead; with two they fight, and one sinks a current that it was not built for.

    Remedy: wire one supply into the circuit; where the input feeds it already, take the other away.
    """
    for tag in loop.with_role(Role.TRANSMITTER):
        if tag.model is None or tag.model.wires != 2:
            continue
        for port in tag.ports_for(Purpose.MEASUREMENT, Direction.OUT):
            whole = circuit(loop, tag, port)
            if not whole.readers:
                continue  # a loop under construction: that it is not wired is another rule's
            readers = {f"{one.target_tag.name} {one.target.name}": feeds(one) for one in whole.readers}
            supplies = [f"{one.source_tag.name} {one.source.name}" for one in whole.supplies]
            supplies = sorted({*supplies, *(name for name, feeding in readers.items() if feeding)})
            undecided = sorted(name for name, feeding in readers.items() if feeding is None)
            if len(supplies) > 1:
                yield finding(
                    tag,
                    "its circuit has {count} supplies: {supplies}",
                    count=len(supplies),
                    supplies=", ".join(supplies),
                )
            elif not supplies and undecided:
                yield unknown(
                    tag,
                    "no supply is wired, and whether {names} feeds it is not recorded",
                    names=" or ".join(undecided),
                )
            elif not supplies:
                yield finding(
                    tag,
                    "nothing in its circuit gives it a supply; {readers} is passive",
                    readers=" and ".join(sorted(readers)),
                )
