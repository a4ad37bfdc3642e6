from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal

from register.calc.loop_power import supply_load_ma
from register.plant import sketch
from register.plant.values import Loop, SupplyLoad
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded

_LOAD = SupplyLoad(supply_tag="PIC-201", supply_port="Supply 24 V", tag="PT-201", loop="P-201")


@rule(
    "supply-overloaded",
    severity=Severity.ERROR,
    source="the supply's data sheet; 22.5 mA for each circuit is common practice, no source",
    tolerance=("22.5", "mA for each circuit"),
    wrong=sketch.with_surroundings(
        sketch.pressure_loop(),
        supply_loads=(_LOAD, SupplyLoad(supply_tag="PIC-201", supply_port="Supply 24 V", tag="PT-202", loop="P-202")),
    ),
    right=sketch.with_surroundings(sketch.pressure_loop(), supply_loads=(_LOAD,)),
)
def supply_overloaded(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """A supply gives the fault current of every circuit on it at once.

    Why: when one transmitter fails high, the voltage of all drops.

    Remedy: spread the circuits over more supplies, or fit a larger one.
    """
    by_port: dict[tuple[str, str], list[SupplyLoad]] = defaultdict(list)
    for load in loop.surroundings.supply_loads:
        by_port[load.supply_tag, load.supply_port].append(load)
    for (name, port_name), loads in by_port.items():
        tag = next((tag for tag in loop.tags if tag.name == name), None)
        port = tag.port(port_name) if tag else None
        source = tag.model_port(port) if tag and port else None
        if source is None or source.supply_max_ma is None:
            continue
        total = supply_load_ma(*(float(tolerance) for _ in loads))
        if total > float(source.supply_max_ma):
            yield finding(
                tag,
                "{port} gives {rated} mA; {count} circuits take {total} mA: {loads}",
                place=port_name,
                port=port_name,
                rated=f"{source.supply_max_ma:f}",
                count=len(loads),
                total=rounded(total),
                loads=", ".join(load.tag for load in loads),
            )
