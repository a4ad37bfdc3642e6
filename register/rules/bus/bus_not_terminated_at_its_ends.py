from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.stations import on_bus, own_stations, speaks_for_bus


@rule(
    "bus-not-terminated-at-its-ends",
    severity=Severity.WARNING,
    source="TIA-485-A",
    wrong=sketch.bus_loop(terminated=3),
    right=sketch.bus_loop(terminated=2),
)
def bus_not_terminated_at_its_ends(loop: Loop) -> Iterator[Finding]:
    """A bus has a terminating resistor at both of its ends and nowhere else.

    One end may be the master's, which is no station of the register: one or two terminated stations are right. It is
    said at the station with the least address.

    Why: reflections, or levels that a third resistor pulls down.

    Remedy: fit 120 Ω at the two ends of the trunk and take any other away.
    """
    for tag, line in own_stations(loop):
        if not speaks_for_bus(loop, tag, line.bus):
            continue
        stations = on_bus(loop, line.bus)
        fitted = [one.tag for one in stations if one.line.terminated]
        if len(fitted) > 2:
            yield finding(
                tag,
                "bus {bus} is terminated at {count} stations: {stations}",
                place=f"bus {line.bus}",
                bus=line.bus,
                count=len(fitted),
                stations=", ".join(fitted),
            )
        elif len(stations) > 1 and all(one.line.terminated is False for one in stations):
            yield finding(
                tag,
                "bus {bus} is terminated at none of its {count} stations",
                place=f"bus {line.bus}",
                bus=line.bus,
                count=len(stations),
            )
