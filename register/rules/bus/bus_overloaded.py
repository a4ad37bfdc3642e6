from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc.serial_bus import bus_load
from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import rounded
from register.rules.stations import on_bus, own_stations, speaks_for_bus


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

    It is said at the station with the least address. A station whose load is not recorded is at most one unit load.

    Why: levels sink, and errors come and go.

    Remedy: put a repeater in, split the bus, or fit stations of a smaller load.
    """
    for tag, line in own_stations(loop):
        if not speaks_for_bus(loop, tag, line.bus):
            continue
        stations = on_bus(loop, line.bus)
        known = [one.unit_load for one in stations if one.unit_load is not None]
        unsaid = len(stations) - len(known)
        total = bus_load([(1, float(load)) for load in known])
        stated = {"bus": line.bus, "total": rounded(total), "allowed": rounded(tolerance)}
        if total > float(tolerance):
            yield finding(
                tag,
                "{count} stations on bus {bus} make {total} unit loads; {allowed} are allowed",
                place=f"bus {line.bus}",
                count=len(known),
                **stated,
            )
        elif total + unsaid > float(tolerance):
            yield unknown(
                tag,
                "stations on bus {bus} make {total} unit loads of {allowed}; the load of {unsaid} more is not recorded",
                place=f"bus {line.bus}",
                unsaid=unsaid,
                **stated,
            )
