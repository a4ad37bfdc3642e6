from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc.loop_power import supply_load_ma
from register.plant import sketch
from register.plant.values import Loop, SupplyLoad
from register.plant.words import Direction, Purpose, Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded
from register.rules.power_and_wiring.too_little_voltage import greatest_ma

_LOAD = SupplyLoad(supply_tag="PIC-201", supply_port="Supply 24 V", tag="PT-201", loop="P-201")


@rule(
    "supply-overloaded",
    severity=Severity.ERROR,
    source="the supply's data sheet; 22.5 mA for a circuit whose data are not at hand is common practice, no source",
    tolerance=("22.5", "mA for a circuit without data"),
    wrong=sketch.with_surroundings(
        sketch.pressure_loop(),
        supply_loads=(_LOAD, SupplyLoad(supply_tag="PIC-201", supply_port="Supply 24 V", tag="PT-202", loop="P-202")),
    ),
    right=sketch.with_surroundings(sketch.pressure_loop(), supply_loads=(_LOAD,)),
)
def supply_overloaded(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """A supply gives the greatest current of every circuit on it at once.

    Why: when transmitters fail high together, the voltage of all drops.

    Remedy: spread the circuits over more supplies, or fit a larger one.
    """
    for tag in loop.tags:
        for port in tag.ports_for(Purpose.TRANSMITTER_SUPPLY, Direction.OUT):
            source = tag.model_port(port)
            if source is None or source.supply_max_ma is None:
                continue
            loads = {
                load.tag
                for load in loop.surroundings.supply_loads
                if (load.supply_tag, load.supply_port) == (tag.name, port.name)
            }
            loads |= {one.target_tag.name for one in loop.links_out_of(tag) if one.source is port}
            currents = [current_ma(loop, name, float(tolerance)) for name in sorted(loads)]
            total = supply_load_ma(*currents)
            if total > float(source.supply_max_ma):
                yield finding(
                    tag,
                    "{port} gives {rated} mA; {count} circuits take {total} mA: {loads}",
                    place=port.name,
                    port=port.name,
                    rated=f"{source.supply_max_ma:f}",
                    count=len(currents),
                    total=rounded(total),
                    loads=", ".join(sorted(loads)),
                )


def current_ma(loop: Loop, name: str, otherwise: float) -> float:
    """The greatest current of the circuit of a transmitter; a figure of custom for one that the loop does not see."""
    tag = loop.tag(name)
    outputs = tag.ports_for(Purpose.MEASUREMENT, Direction.OUT) if tag and tag.model else ()
    offered = [tag.model_port(port) for port in outputs]
    known = [one for one in offered if one is not None and one.failure_high_ma is not None]
    return greatest_ma(tag, known[0]) if known else otherwise
