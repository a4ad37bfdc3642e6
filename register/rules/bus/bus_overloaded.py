from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc.serial_bus import bus_load
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.bus.duplicate_address import stations_of
from register.rules.engine import Finding, finding, rule
from register.rules.numbers import rounded


@rule(
    "bus-overloaded",
    severity=Severity.WARNING,
    source="TIA-485-A",
    tolerance=("32", "unit loads"),
    wrong=sketch.bus_loop(unit_loads=((20, "1"), (30, "0.5"))),
    right=sketch.bus_loop(unit_loads=((10, "1"), (40, "0.25"), (8, "0.125"))),
)
def bus_overloaded(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """The unit loads of all stations on a bus stay within what one driver carries, 32 less its bias network.

    Why: levels sink, and errors come and go.

    Remedy: put a repeater in, split the bus, or fit stations of a smaller load.
    """
    for tag, line in stations_of(loop):
        known = [
            one.unit_load
            for one in loop.surroundings.stations
            if one.line.bus == line.bus and one.unit_load is not None
        ]
        total = bus_load([(1, float(load)) for load in known])
        if total > float(tolerance):
            yield finding(
                tag,
                "{count} stations on bus {bus} make {total} unit loads; {allowed} are allowed",
                count=len(known),
                bus=line.bus,
                total=rounded(total),
                allowed=rounded(tolerance),
            )
