from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.bus.duplicate_address import stations_of
from register.rules.engine import Finding, finding, rule


@rule(
    "bus-not-terminated-at-its-ends",
    severity=Severity.WARNING,
    source="TIA-485-A",
    wrong=sketch.bus_loop(terminated=3),
    right=sketch.bus_loop(terminated=2),
)
def bus_not_terminated_at_its_ends(loop: Loop) -> Iterator[Finding]:
    """A bus has a terminating resistor at both of its ends and nowhere else.

    One end may be the master's, which is no station of the register: one or two terminated stations are right.

    Why: reflections, or levels that a third resistor pulls down.

    Remedy: fit 120 Ω at the two ends of the trunk and take any other away.
    """
    for tag, line in stations_of(loop):
        on_bus = [one for one in loop.surroundings.stations if one.line.bus == line.bus]
        fitted = [one.tag for one in on_bus if one.line.terminated]
        if len(fitted) > 2:
            yield finding(
                tag,
                "bus {bus} is terminated at {count} stations: {stations}",
                bus=line.bus,
                count=len(fitted),
                stations=", ".join(sorted(fitted)),
            )
        elif len(on_bus) > 1 and not fitted and all(one.line.terminated is False for one in on_bus):
            yield finding(
                tag, "bus {bus} is terminated at none of its {count} stations", bus=line.bus, count=len(on_bus)
            )
