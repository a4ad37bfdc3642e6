from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Connection, Loop, Tag
from register.plant.words import Purpose, Role, Severity
from register.rules.engine import Finding, finding, rule, unknown


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
        supplies = [
            f"{one.source_tag.name} {one.source.name}" for one in loop.links_into(tag, Purpose.TRANSMITTER_SUPPLY)
        ]
        readers = list(loop.links_out_of(tag, Purpose.MEASUREMENT))
        feeding = {f"{one.target_tag.name} {one.target.name}": feeds(one.target_tag, one) for one in readers}
        supplies += [name for name, fed in feeding.items() if fed]
        if len(supplies) > 1:
            yield finding(
                tag, "its circuit has {count} supplies: {supplies}", count=len(supplies), supplies=", ".join(supplies)
            )
        elif not supplies and not readers:
            continue  # a loop under construction: that it is not wired is another rule's
        elif not supplies and None in feeding.values():
            names = ", ".join(name for name, fed in feeding.items() if fed is None)
            yield unknown(tag, "no supply is wired, and whether {names} feeds it is not recorded", names=names)
        elif not supplies:
            yield finding(
                tag, "nothing in its circuit gives it a supply; {reader} is passive", reader=", ".join(feeding)
            )


def feeds(tag: Tag, one: Connection) -> bool | None:
    """Whether the reading input feeds the circuit; the tag's own word counts before the model's."""
    if one.target.supplies_loop is not None:
        return one.target.supplies_loop
    offered = tag.model_port(one.target)
    return offered.supplies_loop if offered else None
